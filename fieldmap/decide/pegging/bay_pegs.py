"""The pegs of one bay: a baseline of two tied pegs, then the rest from these."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from fieldmap.decide.pegging.bays import Run, is_wide, sections
from fieldmap.decide.pegging.crew import Crew
from fieldmap.decide.pegging.model import At
from fieldmap.decide.pegging.network import Fix

# Worse known than this, and a helper peg within the bay is looked for [m].
HELPED_M = 0.05
HELPERS = 9  # tried each way


class Target(NamedTuple):
    """A place of a bay's outline: which end, and which section begins there."""

    end: str
    section: int
    at: At


def peg_bay(
    crew: Crew, run: Run, *, both_edges: bool = False
) -> tuple[tuple[int, ...], tuple[int, ...]] | None:
    """Peg a bay; the numbers of its pegs along both ends, None where no tape reaches.

    The baseline is the first side; of a wide bay the near end, with a string along it
    and pegs on that, from which those of the far end are taped one by one.

    Parameters
    ----------
    crew
        The crew, with what it has pegged so far; its steps grow.
    run
        Beds side by side, no longer than the tape.
    both_edges
        Whether a single bed gets pegs along both of its edges, as a tunnel does.
    """
    first = sections(run, crew.ground.tape_m)
    # The second edge of a single bed is set by the stick.
    cuts = [*first, len(run.beds)] if len(run.beds) > 1 or both_edges else [0]
    near = [Target("near", n, run.edge("near", bed)) for n, bed in enumerate(cuts)]
    far = [Target("far", n, run.edge("far", bed)) for n, bed in enumerate(cuts)]
    wide = is_wide(run, crew.ground.tape_m) and len(cuts) > 1
    base = (near[0], near[-1]) if wide else (near[0], far[0])
    pegged: dict[Target, int] = {}
    for target in base:
        number = crew.pegged(target.at) or crew.peg_from_landmarks(target.at, "corner")
        if number is None:
            return None
        pegged[target] = number
    if wide:
        _on_string(crew, near, pegged)
        _rest(crew, far, pegged)
    _rest(crew, _walk(near, far), pegged)
    if len(pegged) < len(near) + len(far):
        return None
    _checks(crew, near, far, pegged)
    return tuple(pegged[each] for each in near), tuple(pegged[each] for each in far)


def _walk(near: Sequence[Target], far: Sequence[Target]) -> list[Target]:
    """Order of the pegs after the baseline: to and fro."""
    order: list[Target] = []
    for number, pair in enumerate(zip(near, far, strict=True)):
        order += pair if number % 2 == 0 else pair[::-1]
    return order


def _on_string(crew: Crew, near: Sequence[Target], pegged: dict[Target, int]) -> None:
    """Pegs between both ends of a line, taped along a string from peg to peg."""
    string = pegged[near[0]], pegged[near[-1]]
    before = pegged[near[0]]
    for target in near[1:-1]:
        before = crew.pegged(target.at) or crew.peg_on_string(
            target.at, "section", string, before
        )
        pegged[target] = before


def _rest(crew: Crew, order: Sequence[Target], pegged: dict[Target, int]) -> None:
    """Every other peg, each from two pegs of the bay, else from what is known best."""
    for target in order:
        if target in pegged:
            continue
        last = max(each.section for each in order)
        role = "corner" if target.section in (0, last) else "section"
        there = crew.pegged(target.at)
        if there is not None:
            pegged[target] = there
            continue
        number = _best_peg(crew, target, role, list(pegged.values()))
        if number is not None:
            pegged[target] = number


def _best_peg(crew: Crew, target: Target, role: str, bay: list[int]) -> int | None:
    """From two pegs of the bay, else from landmarks, else over a helper in the bay."""
    fix = crew.fix(target.at, bay)
    if fix is not None and fix.off_m <= HELPED_M:
        return crew.peg(target.at, role, fix)
    number = crew.peg_from_landmarks(target.at, role, HELPED_M)
    if number is not None:
        return number
    # Whatever comes of it, the best two tapes from all that is known by now are taken.
    helper = _helper(crew, target, bay)
    if helper is not None:
        crew.peg(helper[1], "helper", helper[0])
    fix = crew.fix(target.at)
    return None if fix is None else crew.peg(target.at, role, fix)


def _helper(crew: Crew, target: Target, known: list[int]) -> tuple[Fix, At] | None:
    """A place within the bay from which tapes cross well at a target."""
    own = np.array([crew.at(number) for number in known])
    corner = np.array(target.at)
    origin = own[np.argmin(np.hypot(*(own - corner).T))]
    far = own[np.argmax(np.hypot(*(own - corner).T))]
    best: tuple[float, Fix, At] | None = None
    for along in np.linspace(0.3, 0.9, HELPERS):
        for across in np.linspace(0.2, 0.8, HELPERS):
            place = origin + along * (corner - origin) + across * (far - origin)
            at = (round(float(place[0]), 2), round(float(place[1]), 2))
            if not crew.ground.holds(at):
                continue
            fix = crew.fix(at, known)
            if fix is None or not _serves(at, origin, corner, crew.ground.tape_m):
                continue
            if best is None or fix.off_m < best[0] - 0.001:
                best = (fix.off_m, fix, at)
    return None if best is None else best[1:]


def _serves(at: At, origin: np.ndarray, corner: np.ndarray, tape_m: float) -> bool:
    """Whether tapes from a helper and from the nearest peg cross well at a corner."""
    one, other = corner - np.array(at), corner - origin
    cosine = one @ other / (np.hypot(*one) * np.hypot(*other))
    angle_deg = np.degrees(np.arccos(np.clip(cosine, -1, 1)))
    return bool(50 <= angle_deg <= 130 and np.hypot(*one) < 0.9 * tape_m)


def _checks(
    crew: Crew,
    near: Sequence[Target],
    far: Sequence[Target],
    pegged: dict[Target, int],
) -> None:
    """A length across the bay that no tape has measured, and a landmark to a peg."""
    sides = [(near[-1], far[-1]), (near[0], far[0])]
    across = [
        pair
        for number in range(len(near) - 1, 0, -1)
        for pair in ((near[number], far[number - 1]), (far[number], near[number - 1]))
    ]
    # A diagonal shows a bay that leans, which its sides do not.
    for one, other in (*across, *sides):
        pair = pegged[one], pegged[other]
        if crew.is_new(*pair):
            crew.check("shape", *pair)
            break
    place = crew.other_landmark((pegged[near[-1]], pegged[far[-1]]))
    if place is not None:
        crew.check("place", *place)
