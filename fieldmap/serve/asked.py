"""What the page may ask, as models: anything else is refused before it is answered.

Where a question passes its model and the answer fails all the same, that is a mistake of
ours, and stays one: it is no answer of its own.
"""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field

from fieldmap.model.settings import WhatIf
from fieldmap.serve.files.draft import Draft

Name = Annotated[str, Field(min_length=1, max_length=300)]
Degrees = Annotated[float, Field(ge=-180, le=180, allow_inf_nan=False)]


class Question(BaseModel):
    """A question without any content."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class OfTab(Question):
    """Of one tab of a browser."""

    tab: Name


class Holding(Question):
    """What a page holds, whoever writes."""

    draft: Draft


class Drafted(OfTab):
    """What a tab holds."""

    draft: Draft


class Saving(Drafted):
    """To be written to the files of the site.

    Attributes
    ----------
    over
        Files that may be written though they were changed outside.
    """

    over: tuple[Name, ...] = Field(default=(), max_length=20)


class Called(Question):
    """What has no name of its own, by the name that a change speaks of it.

    Attributes
    ----------
    places
        Longitude and latitude of a place on each of its parts.
    """

    name: Name
    places: tuple[tuple[Degrees, Degrees], ...] = Field(min_length=1, max_length=1000)


class Change(Question):
    """A change to be tried."""

    change: WhatIf
    called: tuple[Called, ...] = Field(default=(), max_length=1)


class Named(OfTab):
    """A change to be kept."""

    change: WhatIf
