"""What thermometers on the spot have taught, as the next plan uses it."""

from collections.abc import Iterator
from typing import Annotated

from pydantic import Field

from fieldmap.errors import Problem, problem
from fieldmap.model.settings import Choices

FILE = "observed.toml"

Number = Annotated[float, Field(allow_inf_nan=False, ge=-100, le=100)]
Count = Annotated[int, Field(ge=1)]


class Range(Choices):
    """A value and the ends of its range at 90 %."""

    low: Number
    central: Number
    high: Number

    def faults(self) -> Iterator[Problem]:
        """Low, central and high rise."""
        if not self.low <= self.central <= self.high:
            yield problem(
                "low {low:g}, central {central:g} and high {high:g} must rise in that "
                "order",
                **dict(self),
            )


class Observed(Choices):
    """What was learnt from the thermometers of a site (`observed.toml`).

    Attributes
    ----------
    readings_sha256
        Of the file of readings, so that later readings can be known from these.
    clear_calm_nights
        On which it rests.
    offset_factor
        By what the likeliest offsets are multiplied; None where it could not be fitted.
    bias_c
        How the reference of all offsets (the station's cell, else the median of the
        plots) runs against the station's record on clear calm nights, the difference
        of their heights within; negative is colder. None where it is not known.
    """

    readings_sha256: Annotated[str, Field(pattern="^[0-9a-f]{64}$")]
    clear_calm_nights: Count
    offset_factor: Range | None = None
    bias_c: Range | None = None

    def faults(self) -> Iterator[Problem]:
        """Its factor is positive."""
        if self.offset_factor is not None and self.offset_factor.low <= 0:
            yield problem(
                "low {low:g} of offset_factor must be more than 0",
                **dict(self.offset_factor),
            )
