"""Which way beds run and why, in words."""

from collections.abc import Callable, Mapping, Sequence

from fieldmap.decide.layout.bearings import (
    SAME_FALL_PERCENT,
    SHORT_M,
    Candidate,
    Remaining,
    real_differences,
)
from fieldmap.decide.layout.choose import Layout
from fieldmap.model.fact import Fact
from fieldmap.show.text import names, quantities
from fieldmap.show.text.catalogue import texts
from fieldmap.show.text.language import _, later, plural
from fieldmap.show.text.quantities import Units
from fieldmap.show.text.sentence import Sentence

MOST_NAMES = 6
LEAST_SHARE = 0.005  # of the ground, that is shown
NOTES = (
    later(
        "Which way beds run makes no real difference to the light on low crops. Tall ones "
        "(over about 1.5 m) in rows from east to west shade the next row; tall_crops = true "
        "in [beds] counts that."
    ),
    later(
        "Rows too steep: more than 2 % along the row, or more than half the fall of the "
        "ground, where the ground falls 2 % and more (USDA NRCS practice standard 330; up "
        "to 3 % within 45 m of a grassed outlet, which the map does not know). It is told "
        "and never forbidden."
    ),
)
KINDS: Mapping[str, str] = texts(__name__, "kinds")
# What left fewer bearings, one question after the other.
QUESTIONS = texts(__name__, "questions")


def reasons(layout: Layout, units: Units) -> list[str]:
    """What the bearing of the beds is, why, and what to mind."""
    kept = layout.kept
    said = [_("Beds run {way}.").format(way=_bearing(kept))]
    if kept.kind != "fixed":
        said.append(_why(layout.remaining))
    said.append(_fall(kept, units))
    if kept.over_share >= LEAST_SHARE:
        said.append(
            _(
                "On {percent} of the ground rows run too steep: water takes soil "
                "along. Keep paths in grass and soil covered, or let beds run nearer "
                "to the contour."
            ).format(percent=_percent(kept.over_share))
        )
    if layout.erodes:
        said.append(
            _(
                "The ground falls over 10 %: beds along the contour alone do not "
                "hold the soil there; keep strips of grass between them."
            )
        )
    if kept.short:
        said.append(
            _("{short} of {beds} beds are shorter than {length}.").format(
                short=kept.short,
                beds=kept.beds,
                length=quantities.length(SHORT_M, units),
            )
        )
    return said


def runner_up(layout: Layout, units: Units) -> str:
    """What another bearing gives and gives up against the one that is kept."""
    kept, other = layout.kept, layout.other
    if other is None:
        return _("No other way has room for a bed.")
    better, worse = (
        [_difference(question, kept, other, units) for question in questions]
        for questions in real_differences(kept, other)
    )
    if not better and not worse:
        return _("Next best, and no real difference: {way}.").format(
            way=_bearing(other)
        )
    said = [_("Next best: {way}.").format(way=_bearing(other))]
    if better:
        said.append(_("Better: {what}.").format(what="; ".join(better)))
    if worse:
        said.append(_("Worse: {what}.").format(what="; ".join(worse)))
    return " ".join(said)


def _bearing(one: Candidate) -> str:
    axis = quantities.axis(one.bearing_deg)
    return f"{axis} ({one.bearing_deg:.0f}°), {_(KINDS[one.kind])}"


def _why(remaining: Sequence[Remaining]) -> str:
    """How one question after another left fewer bearings."""
    steps = []
    (_none, number), *asked = remaining
    before = number
    for question, count in asked:
        if count < before:
            steps.append(_(QUESTIONS[question]).format(number=count, before=before))
            before = count
    if not steps:
        return _(
            "{number} ways were compared and none is really better: the plot's own lines "
            "decide."
        ).format(number=number)
    compared = _("{number} ways were compared; that {steps}").format(
        number=number, steps=", ".join(steps)
    )
    if before == 1:
        return f"{compared}."
    return _("{told}. Between these the plot's own lines decide.").format(told=compared)


def _fall(kept: Candidate, units: Units) -> str:
    if max(kept.along_percent, kept.across_percent) < SAME_FALL_PERCENT:
        return _("The ground is level.")
    return _("Along the beds the ground {along}, across them it {across}.").format(
        along=quantities.fall(kept.along_percent, units),
        across=quantities.fall(kept.across_percent, units),
    )


def _difference(question: str, kept: Candidate, other: Candidate, units: Units) -> str:
    """Another bearing beside the one that is kept, in one of the questions."""
    shown: Mapping[str, tuple[str, Callable[[Candidate], str]]] = {
        "steep": (
            later("rows too steep on {there} of the ground, not {here}"),
            lambda one: _percent(one.over_share),
        ),
        "area": (
            later("{there} of growing ground, not {here}"),
            lambda one: quantities.area(round(one.area_m2), units),
        ),
        "short": (
            later("{there} short beds, not {here}"),
            lambda one: f"{one.short}",
        ),
        "along": (
            later("along the beds it {there}, here it {here}"),
            lambda one: quantities.fall(one.along_percent, units),
        ),
    }
    text, of = shown[question]
    return _(text).format(there=of(other), here=of(kept))


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def _in_short_lengths(text: str) -> Sentence:
    """A sentence of lengths that one measures along a rule."""
    return lambda fact, units: _(text).format(
        **{
            name.removesuffix("_m"): quantities.short_length(length_m, units)
            for name, length_m in fact.values.items()
        }
    )


def _without_beds(fact: Fact, _units: Units) -> str:
    return _(
        "Plot {plot} got no bed: no strip of {shortest} m is free there after "
        "turning strips, keep-clear strips and tunnels."
    ).format(plot=fact["plot"], shortest=f"{fact['shortest_m']:g}")


def _too_steep(fact: Fact, _units: Units) -> str:
    beds = fact["beds"]
    return _(
        "Plot {plot}: {beds} too steep for rows of tilled ground (over 2 % "
        "along, or over half the fall of the ground): {names}."
    ).format(
        plot=fact["plot"],
        beds=plural("1 bed falls", "{number} beds fall", len(beds)),
        names=_some(beds),
    )


def _some(beds: Sequence[str]) -> str:
    """Names of beds one by one, cut where they are many."""
    if len(beds) <= MOST_NAMES:
        return names.listed(beds)
    rest = len(beds) - MOST_NAMES + 1
    return names.listed(
        [*beds[: MOST_NAMES - 1], plural("1 more", "{number} more", rest)]
    )


SENTENCES: Mapping[str, Sentence] = {
    "plot_without_beds": _without_beds,
    "plot_keeps_beds": later(
        "Plot {plot} keeps its beds of {file}: no others are laid out there, and "
        "no tunnel stands on them."
    ),
    "two_strips": _in_short_lengths(
        later(
            "A new bed is two strips of {strip} with a path of {within} between "
            "them, under one hoop: {whole} from edge to edge. Every count of new "
            "beds is one of such pairs."
        )
    ),
    "wider_paths": _in_short_lengths(
        later(
            "Beds are meant for covers: paths are {path} wide instead of {narrow}, "
            "since edges and bags take about {edge} of path each side (common "
            "practice)."
        )
    ),
    "narrow_paths": _in_short_lengths(
        later(
            "Paths are {path} wide. Edges and bags of covers take about {edge} of "
            "path each side (common practice): covered = true in [beds] makes paths "
            "{wide} wide."
        )
    ),
    "beds_too_steep": _too_steep,
}
