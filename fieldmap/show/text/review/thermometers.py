"""What thermometers on the spot teach, in sentences."""

from collections.abc import Sequence
from typing import Literal

from fieldmap.errors import SiteError
from fieldmap.model.thermometer_readings import SCREEN_M
from fieldmap.review.next_thermometers import Place
from fieldmap.review.thermometers import Lesson, Run
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import fill, say

# Of the file that is written.
WRITTEN = texts(__name__, "written")
LESSON = texts(__name__, "lesson")
NEXT = texts(__name__, "next_places")


def lines(file: str, lesson: Lesson, units: Units) -> list[str]:
    """How many nights counted, how each thermometer ran, and what follows from it.

    Parameters
    ----------
    file
        Name of the file of readings.
    lesson
        How each thermometer ran, and what follows for the place.
    units
        "metric" or "us", for degrees and heights.
    """
    count = lesson.clear_calm_nights
    said = [
        fill(
            LESSON["nights" if count else "nights_not_clear"],
            units,
            file=file,
            number=len(lesson.runs),
            nights=count + lesson.other_nights,
            count=count,
        )
    ]
    if lesson.factor is not None and lesson.bias is not None:
        said += [_run(run, units) for run in lesson.runs]
        said += [say(fact, units) for fact in lesson.refused]
        said += [say(found.fact, units) for found in (lesson.factor, lesson.bias)]
    return said


def unit_slip(file: str, over_station_c: float, units: Units) -> SiteError:
    """The refusal of readings that can only be of another unit than their column says.

    Parameters
    ----------
    file
        Name of the file of readings.
    over_station_c
        By how much the readings are above the station, under it if negative [°C].
    units
        "metric" or "us", for that difference.

    Returns
    -------
    error
        To be raised by the caller.
    """
    is_above = over_station_c > 0
    return SiteError(
        fill(
            LESSON["reads_above" if is_above else "reads_under"],
            units,
            file=file,
            degrees_c=round(abs(over_station_c), 0),
            column="tmin_f" if is_above else "tmin_c",
        )
    )


def _run(run: Run, units: Units) -> str:
    """How a thermometer ran, and why it does not count where it hangs otherwise."""
    if not run.nights:
        return fill(LESSON["not_read"], units, name=run.name)
    ran = fill(
        LESSON["ran"],
        units,
        name=run.name,
        number=run.nights,
        degrees_c=run.over_station_c,
    )
    if run.in_screen:
        return f"  {ran}."
    how = "shielded" if run.is_shielded else "bare"
    return fill(LESSON[how], units, ran=f"  {ran}", height_m=run.height_m)


def places(
    found: Sequence[Place],
    which: Literal["first", "next"],
    units: Units,
    *,
    from_station: bool,
) -> list[str]:
    """Where to hang the first thermometers, or the next beside those that hang.

    Parameters
    ----------
    found
        Places in the order in which they are worth it; empty where none is.
    which
        "first" where none hang yet, "next" beside those that hang.
    units
        "metric" or "us", for degrees and heights.
    from_station
        Whether offsets are against the weather station; else against the median of the
        plots.
    """
    if not found:
        return [fill(NEXT[f"{which}_anywhere"], units)]
    return [
        fill(NEXT[which], units, heights_m=SCREEN_M),
        *(
            fill(
                NEXT["against_station" if from_station else "against_plots"],
                units,
                place=_where(place, units),
                longitude=f"{place.longitude:.5f}",
                latitude=f"{place.latitude:.5f}",
                low_c=place.offset_c.low,
                high_c=place.offset_c.high,
            )
            for place in found
        ),
    ]


def _where(place: Place, units: Units) -> str:
    """The bed that is nearest, if there is one, and the plot."""
    beside = "in_bed" if place.in_bed else "beside_bed"
    text = NEXT["in_plot" if place.bed is None else beside]
    return fill(text, units, bed=place.bed, plot=place.plot)
