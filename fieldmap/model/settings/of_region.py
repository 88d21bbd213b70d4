"""How a site lies in the region of which it is a parcel."""

from typing import Annotated

from pydantic import Field

from fieldmap.model.settings.base import Choices

OffsetC = Annotated[float, Field(ge=-8, le=8, allow_inf_nan=False)]


class OfRegion(Choices):
    """How still nights of the site compare with a typical parcel of its region."""

    name: Annotated[str, Field(min_length=1, max_length=200)]
    """Name of the region."""
    offset_low_c: OffsetC
    """How much warmer a typical spot in the plots is than a typical parcel of the region:
    the coldest plausible value."""
    offset_c: OffsetC
    """How much warmer a typical spot in the plots is than a typical parcel: the likely
    value."""
    offset_high_c: OffsetC
    """How much warmer a typical spot in the plots is than a typical parcel: the warmest
    plausible value."""
