"""The choice itself, as whole numbers: how many beds of a class take which option."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, milp

from fieldmap.cache import Store
from fieldmap.model.season_year import WEEKS

Floats = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]

# A count of nodes, and not a time, ends a search that is long: the same inputs then give
# the same answer on any machine.
MOST_NODES = 2000
SMALL = 1e-6
# The first worth may fall short by one in ten thousand: nothing on a farm of a hundred
# beds, and a bed or two of thousands.
FIRST_GAP = 1e-4


class Use(NamedTuple):
    """What an option takes of something that is scarce, in each of some weeks.

    Attributes
    ----------
    of
        Which scarce thing.
    weeks
        First and last, from 0, both within.
    amount
        In the unit of the limit.
    """

    of: str
    weeks: tuple[int, int]
    amount: float


class Option(NamedTuple):
    """One bed of a class for some weeks, to meet a part of a demand.

    Attributes
    ----------
    bed_class, demand
        Places in the lists of sizes.
    weeks
        First and last in which the bed is taken, both within; as `GrowingWindow.held`.
    first, then
        What it is worth: in the first place, and where that is equal.
    uses
        Of scarce things.
    """

    bed_class: int
    demand: int
    weeks: tuple[int, int]
    first: float
    then: float
    uses: tuple[Use, ...] = ()


@dataclass(frozen=True)
class Allocation:
    """What is to be shared out, and among whom.

    Attributes
    ----------
    options
        All that may be taken.
    beds, demands
        Beds of each class; beds wanted by each demand.
    limits
        Of each scarce thing, in every week; what is not named is not scarce.
    used
        Of scarce things, by week: what is taken already.
    is_closed
        Whether more is asked of what stands over New Year than that no week holds too
        many, see `_around_the_year`.
    """

    options: Sequence[Option]
    beds: Sequence[int]
    demands: Sequence[int]
    limits: dict[str, float]
    used: Mapping[str, Sequence[float]] = field(default_factory=dict)
    is_closed: bool = False

    def left(self, of: str, week: int) -> float:
        """Of a scarce thing in a week."""
        used = self.used.get(of)
        return max(self.limits[of] - (0.0 if used is None else used[week]), 0.0)


def best(asked: Allocation, gap: float) -> Whole:
    """Beds that take each option: most in the first place, then most of the rest.

    Parameters
    ----------
    gap
        Share of the best by which the second worth may fall short of it.

    Returns
    -------
    (options,) array
        Whole numbers.

    Notes
    -----
    Stays are spans of weeks, and spans of which no more than n meet in any week can be
    put on n beds without meeting: so it is enough to count beds by week, and no chain of
    crops is listed (interval graphs are perfect; Golumbic 1980, from memory). What stands
    over New Year closes the line of weeks to a ring, on which that may fail by a bed: then
    it is asked again, closed (`Allocation.is_closed`).
    Where the search is given up, the answer without whole numbers is rounded down, which
    breaks no limit.
    """
    if not asked.options:
        return np.zeros(0, np.int64)
    rows, limits = _limits(asked)
    # Two searches, and no weights: no number of days can outbid a bed for a crop.
    first = np.array([option.first for option in asked.options])
    then = np.array([option.then for option in asked.options])
    most = _solved(first, rows, limits, asked, FIRST_GAP)
    # Solvers keep a limit to about a millionth, so exactly the best may be refused.
    kept = np.append(limits, -(float(first @ most) - SMALL))
    held = sparse.vstack([rows, sparse.csr_array(-first[np.newaxis, :])], format="csr")
    chosen = _solved(then, held, kept, asked, gap)
    # Given up early, the second search may have lost what the first had found.
    return chosen if first @ chosen >= first @ most - SMALL else most


def kept_best(store: Store) -> Callable[[Allocation, float], Whole]:
    """`best`, which a store keeps from asking the same again."""

    def found(asked: Allocation, gap: float) -> Whole:
        inputs = {"asked": vars(asked), "gap": gap}
        kept = store.reuse("crop_plan", inputs, lambda: {"beds": best(asked, gap)})
        return kept["beds"]

    return found


def _limits(asked: Allocation) -> tuple[sparse.csr_array, Floats]:
    """Rows of "no more than": demands, beds of a class by week, scarce things by week."""
    table: dict[tuple[object, ...], tuple[float, dict[int, float]]] = {}

    def add(key: tuple[object, ...], limit: float, column: int, amount: float) -> None:
        row = table.setdefault(key, (limit, {}))[1]
        row[column] = row.get(column, 0.0) + amount

    for column, option in enumerate(asked.options):
        add((option.demand,), asked.demands[option.demand], column, 1.0)
        for week in range(option.weeks[0], option.weeks[1] + 1):
            row = option.bed_class, week % WEEKS
            add(row, asked.beds[option.bed_class], column, 1.0)
        for use in option.uses:
            if use.of in asked.limits:
                for week in range(use.weeks[0], use.weeks[1] + 1):
                    add((use.of, week), asked.left(use.of, week), column, use.amount)
    if asked.is_closed:
        for clique, column in _around_the_year(asked.options):
            add(clique, asked.beds[asked.options[column].bed_class], column, 1.0)
    # A week that meets the same options as another says nothing new.
    distinct = {(*row.items(), limit): (row, limit) for limit, row in table.values()}
    entries = [
        (number, column, amount)
        for number, (row, _) in enumerate(distinct.values())
        for column, amount in row.items()
    ]
    at, columns, amounts = (np.array(each) for each in zip(*entries, strict=True))
    shape = (len(distinct), len(asked.options))
    rows = sparse.csr_array((amounts, (at, columns)), shape=shape)
    return rows, np.array([limit for _, limit in distinct.values()], float)


def _around_the_year(
    options: Sequence[Option],
) -> Iterator[tuple[tuple[object, ...], int]]:
    """Options of which no two can share a bed, though no one week holds them all.

    One stands over New Year. The others of its class meet it in some week, and each other
    in another one.
    """
    weeks = [
        frozenset(week % WEEKS for week in range(first, last + 1))
        for first, last in (option.weeks for option in options)
    ]
    over = {
        (option.bed_class, taken)
        for option, taken in zip(options, weeks, strict=True)
        if option.weeks[1] >= WEEKS
    }
    for bed_class, taken in sorted(over, key=lambda each: (each[0], sorted(each[1]))):
        for column, (option, mine) in enumerate(zip(options, weeks, strict=True)):
            if option.bed_class != bed_class or mine.isdisjoint(taken):
                continue
            # It shares a bed with none of the others, in whatever week they meet. In its
            # own weeks all of them are counted together already.
            for week in range(WEEKS) if mine == taken else sorted(mine):
                if week not in taken:
                    yield ("around", bed_class, taken, week), column


def _solved(
    worth: Floats,
    rows: sparse.csr_array,
    limits: Floats,
    asked: Allocation,
    gap: float,
) -> Whole:
    most = np.array(
        [
            min(asked.demands[option.demand], asked.beds[option.bed_class])
            for option in asked.options
        ],
        float,
    )
    solve = partial(
        milp,
        -worth,
        bounds=Bounds(0.0, most),
        constraints=LinearConstraint(rows, -np.inf, limits),
    )
    whole = np.ones(len(worth))
    options = {"mip_rel_gap": gap, "node_limit": MOST_NODES}
    found = solve(integrality=whole, options=options)
    if found.x is None:
        loose = solve()
        if loose.x is None:
            return np.zeros(len(worth), np.int64)
        return _whole(np.floor(loose.x + SMALL))
    return _whole(found.x)


def _whole(values: Floats) -> Whole:
    return np.asarray(np.rint(values), np.int64)
