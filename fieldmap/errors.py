"""What goes wrong in the user's words; only the command turns it into exit code 1."""

from collections.abc import Sequence


class FieldmapError(Exception):
    """A mistake that the user can mend: what is wrong, the value, what would be right.

    Attributes
    ----------
    problems
        One sentence each, in the order found.
    """

    def __init__(self, problems: str | Sequence[str]) -> None:
        self.problems = (problems,) if isinstance(problems, str) else tuple(problems)
        super().__init__("\n".join(self.problems))


class SettingsError(FieldmapError):
    """A choice in `site.toml` that cannot be used."""


class SiteError(FieldmapError):
    """A file of the site that cannot be used."""


class PlanError(FieldmapError):
    """A plan that cannot be made, or cannot be written where it was asked for."""
