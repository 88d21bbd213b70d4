"""Which way beds run and why, in words."""

from collections.abc import Mapping, Sequence

from fieldmap.decide.layout.bearings import (
    SAME_FALL_PERCENT,
    SHORT_M,
    Candidate,
    Remaining,
    apart_deg,
    real_differences,
)
from fieldmap.decide.layout.choose import Layout
from fieldmap.model.fact import Fact
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import Sentence, fill

LEAST_SHARE = 0.005  # of the ground, that is shown
NOTES = tuple(texts(__name__, "notes").values())
KINDS = texts(__name__, "kinds")
# What left fewer bearings, one question after the other.
QUESTIONS = texts(__name__, "questions")
# Another bearing beside the one that is kept, in one of the questions.
DIFFERENCES = texts(__name__, "differences")
WORDS = texts(__name__, "words")


def reasons(layout: Layout, units: Units) -> list[str]:
    """What the bearing of the beds is, why, and what to mind."""
    kept = layout.kept
    is_level = max(kept.along_percent, kept.across_percent) < SAME_FALL_PERCENT
    on_ground = {
        "level": is_level,
        "falls": not is_level,
        "too_steep": kept.over_share >= LEAST_SHARE,
        "erodes": layout.erodes,
        "short": layout.short > 0,
    }
    values = {
        "along": kept.along_percent,
        "across": kept.across_percent,
        "percent_share": kept.over_share,
        "short": layout.short,
        "beds": len(layout.beds),
        "length_m": SHORT_M,
    }
    return [
        fill(WORDS["run"], units, way=_bearing(kept)),
        *([] if kept.kind == "fixed" else [_why(layout.remaining, units)]),
        *(
            fill(WORDS[key], units, **values)
            for key, is_so in on_ground.items()
            if is_so
        ),
    ]


def runner_up(layout: Layout, units: Units) -> str:
    """What another bearing gives and gives up against the one that is kept."""
    kept, other = layout.kept, layout.other
    if other is None:
        return _(WORDS["no_other"])
    tall_crops = any(asked.question == "north" for asked in layout.remaining)
    better, worse = real_differences(kept, other, tall_crops=tall_crops)
    if not better and not worse:
        return fill(WORDS["next_alike"], units, way=_bearing(other))
    said = [fill(WORDS["next"], units, way=_bearing(other))]
    for key, questions in (("better", better), ("worse", worse)):
        what = " ".join(
            [
                _(DIFFERENCES[each]).format(
                    there=_answer(each, other, units), here=_answer(each, kept, units)
                )
                for each in questions
            ]
        )
        said += [fill(WORDS[key], units, what=what)] if what else []
    return " ".join(said)


def _answer(question: str, one: Candidate, units: Units) -> str:
    """What a bearing comes to in one of the questions."""
    answers = {
        "steep": f"{100 * one.over_share:.0f} %",
        "area": quantities.area(round(one.area_m2), units),
        "short": f"{one.short}",
        "along": quantities.ground(one.along_percent, units),
        "north": f"{apart_deg(one.bearing_deg, 0.0):.0f}°",
    }
    return answers[question]


def _bearing(one: Candidate) -> str:
    axis = quantities.axis(one.bearing_deg)
    return f"{axis} ({one.bearing_deg:.0f}°), {_(KINDS[one.kind])}"


def _why(remaining: Sequence[Remaining], units: Units) -> str:
    """How one question after another left fewer bearings."""
    steps = []
    (_none, number), *asked = remaining
    before = number
    for question, count in asked:
        if count < before:
            steps.append(fill(QUESTIONS[question], units, number=count, before=before))
            before = count
    if not steps:
        return fill(WORDS["none_better"], units, number=number)
    compared = fill(WORDS["compared"], units, number=number, steps=" ".join(steps))
    if before == 1:
        return compared
    return fill(WORDS["own_lines_decide"], units, compared=compared)


def _too_steep(fact: Fact, units: Units) -> str:
    beds = fact["beds"]
    fall = fill(WORDS["beds_fall"], units, number=len(beds))
    return fill(
        WORDS["beds_too_steep"],
        units,
        plot=fact["plot"],
        beds=fall,
        names=names.some(beds),
    )


def _roll_over(fact: Fact, units: Units) -> str:
    machine = "tractor" if fact["tractor"] else "two_wheel_tractor"
    return fill(
        WORDS[f"roll_over_{machine}"],
        units,
        plot=fact["plot"],
        names=names.some(fact["beds"]),
        percent=fact["percent"],
    )


def _bed_lengths(fact: Fact, units: Units) -> str:
    """Lengths with their counts, the longest first, and what that costs in ground."""
    lengths = [
        fill(WORDS["of_length"], units, number=number, length_m=length_m)
        for length_m, number in fact["lengths"]
    ]
    # Of the bed there is, not of the denser one.
    kept = 1 - fact["lost_percent"] / 100
    percent = round(fact["lost_percent"] / kept)
    key = "bed_lengths" if percent else "bed_lengths_free"
    return fill(WORDS[key], units, lengths=names.listed(lengths), percent=percent)


SENTENCES: Mapping[str, Sentence] = {
    "beds_too_steep": _too_steep,
    "beds_roll_over": _roll_over,
    "bed_lengths": _bed_lengths,
}
