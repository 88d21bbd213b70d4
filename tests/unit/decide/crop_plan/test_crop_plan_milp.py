"""The choice of stays against every choice there is, on cases small enough for that."""

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldmap.decide.crop_plan import milp as solver
from fieldmap.decide.crop_plan.milp import Allocation, Option, Use

WEEKS = 4


def every_choice(allocation):
    """Worth of all that can be done, trying every option on every single bed."""
    beds = [
        (kind, number)
        for kind, count in enumerate(allocation.beds)
        for number in range(count)
    ]
    per_bed = [
        [
            (at, option)
            for at, option in enumerate(allocation.options)
            if option.bed_class == kind
        ]
        for kind, _ in beds
    ]
    ways_of_bed = [
        [
            chosen
            for size in range(3)  # no more than two stays fit into these few weeks
            for chosen in itertools.combinations(ways, size)
            if apart([option.weeks for _, option in chosen])
        ]
        for ways in per_bed
    ]
    for combined in itertools.product(*ways_of_bed):
        taken = [option for chosen in combined for _, option in chosen]
        if keeps(allocation, taken):
            yield (
                sum(option.first for option in taken),
                sum(option.then for option in taken),
            )


def apart(spans):
    return all(a[1] < b[0] or b[1] < a[0] for a, b in itertools.combinations(spans, 2))


def keeps(allocation, taken):
    for demand, wanted in enumerate(allocation.demands):
        if sum(option.demand == demand for option in taken) > wanted:
            return False
    for thing, most in allocation.limits.items():
        for week in range(WEEKS):
            used = sum(
                use.amount
                for option in taken
                for use in option.uses
                if use.of == thing and use.weeks[0] <= week <= use.weeks[1]
            )
            if used > most + 1e-9:
                return False
    return True


@st.composite
def allocations(draw):
    demands = draw(st.lists(st.integers(1, 2), min_size=1, max_size=2))
    beds = draw(st.lists(st.integers(1, 2), min_size=1, max_size=2))

    def span():
        first = draw(st.integers(0, WEEKS - 1))
        # At least two weeks, so that two stays fill these few.
        return first, min(first + draw(st.integers(1, 2)), WEEKS - 1)

    def option():
        first, last = span()
        first = min(first, WEEKS - 2)
        weeks = first, max(last, first + 1)
        uses = [
            Use(thing, weeks, draw(st.sampled_from([1.0, 2.0, 3.5])))
            for thing in draw(st.sets(st.sampled_from(["cloth", "hands"])))
        ]
        return Option(
            bed_class=draw(st.integers(0, len(beds) - 1)),
            demand=draw(st.integers(0, len(demands) - 1)),
            weeks=weeks,
            first=draw(st.sampled_from([0.5, 1.0, 3.5, 4.0])),
            then=float(draw(st.integers(-5, 30))),
            uses=tuple(sorted(uses)),
        )

    return Allocation(
        options=[option() for _ in range(draw(st.integers(1, 5)))],
        beds=beds,
        demands=demands,
        limits={"cloth": draw(st.sampled_from([0.0, 2.0, 4.0])), "hands": 3.5},
    )


def worth(allocation, counts):
    first = sum(o.first * n for o, n in zip(allocation.options, counts, strict=True))
    then = sum(o.then * n for o, n in zip(allocation.options, counts, strict=True))
    return first, then


@settings(max_examples=60, deadline=None)
@given(allocations())
def test_no_other_choice_is_better(allocation):
    counts = solver.best(allocation, gap=0.0)
    assert worth(allocation, counts) == pytest.approx(max(every_choice(allocation)))


@settings(max_examples=30, deadline=None)
@given(allocations(), st.sampled_from(["cloth", "hands"]), st.floats(0.0, 4.0))
def test_more_of_what_is_scarce_never_wins_less(allocation, thing, more):
    richer = Allocation(
        allocation.options,
        allocation.beds,
        allocation.demands,
        allocation.limits | {thing: allocation.limits[thing] + more},
    )
    poor = worth(allocation, solver.best(allocation, gap=0.0))
    rich = worth(richer, solver.best(richer, gap=0.0))
    assert rich[0] >= poor[0] - 1e-6
    assert rich[0] > poor[0] + 1e-6 or rich[1] >= poor[1] - 1e-6


def test_a_search_that_is_given_up_breaks_no_limit(monkeypatch):
    """Where no whole answer is found in time, the loose one is rounded down."""
    allocation = Allocation(
        [Option(0, 0, (0, 1), 1.0, 5.0, (Use("cloth", (0, 1), 2.0),))],
        [3],
        [3],
        {"cloth": 5.0},
    )
    real = solver.milp

    def given_up(*args, **how):
        found = real(*args, **how)
        if "integrality" in how:
            found.x = None
        return found

    monkeypatch.setattr(solver, "milp", given_up)
    assert solver.best(allocation, gap=0.0).tolist() == [2]


def test_nothing_to_choose_from_gives_nothing():
    assert solver.best(Allocation([], [1], [1], {}), gap=0.0).dtype == np.int64
