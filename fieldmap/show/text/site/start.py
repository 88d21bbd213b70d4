"""The comments of the first `site.toml` of a place."""

from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _

CHOICES = texts(__name__, "choices")


def comments() -> dict[str, str]:
    """What stands above each part of it, by the name of the part."""
    return {part: _(text) for part, text in CHOICES.items()}
