"""What was found, apart from the sentence that says it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, init=False)
class Fact:
    """A reason, a remark or a caution as its kind and values.

    `decide` finds facts; `show.text` has one sentence for each kind, in every language.

    Attributes
    ----------
    kind
        What is so, in snake case: the key of its sentence in `show.text`.
    values
        Numbers with their unit at the end of the key, names, days as (month, day), or
        further facts.

    Examples
    --------
    >>> Fact("cold_air", difference_c=-0.8)
    Fact(kind='cold_air', values={'difference_c': -0.8})
    >>> Fact("cold_air", difference_c=-0.8)["difference_c"]
    -0.8
    """

    kind: str
    values: Mapping[str, Any]

    def __init__(self, kind: str, /, **values: Any) -> None:
        object.__setattr__(self, "kind", kind)
        object.__setattr__(self, "values", values)

    def __getitem__(self, name: str) -> Any:
        """One of its values."""
        return self.values[name]


# Called with each step of long work as it begins.
Progress = Callable[[Fact], None]
