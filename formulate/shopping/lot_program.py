"""Lot sizing with spoilage as one integer program, written so that its gap closes.

Columns are whole numbers of packages by lot, the choice of mix, trips made, and flows of food
from lots to the batches within their dates. Stocks from day to day, which the textbook formulation
carries along, do not appear: a flow exists only where it is in date, so nothing can be spread over
days it would not survive. In addition

- where buying later is never worse, only the latest trip before each opening is offered;
- if trips cost money or prices change, *trip flows* limit what a batch takes from a trip to its
need times that trip's 0 or 1, the strong form of facility location;
- floors under the cost of each food (`formulate.shopping.lot_by_food`) stand as rows;
- rows that whole packages allow are added where the relaxation breaks them
  (`formulate.shopping.lot_rounding`).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.blend.program import SparseProgram
from formulate.shopping.lots import LotPlan, LotProblem

__all__ = ["LotProgram", "Rows"]

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

#: Numbers closer than this to a whole number are taken as whole.
WHOLE = 1e-7


@dataclass
class Rows:
    """Rows of a sparse matrix being written."""

    rows: list[int] = field(default_factory=list)
    columns: list[int] = field(default_factory=list)
    values: list[float] = field(default_factory=list)
    lower: list[float] = field(default_factory=list)
    upper: list[float] = field(default_factory=list)

    def add(self, columns: Any, values: Any, lower: float, upper: float) -> None:
        """Add ``lower ≤ values · x[columns] ≤ upper``; one value may serve all columns."""
        row = len(self.lower)
        columns = np.asarray(columns, dtype=np.int64).ravel()
        values = np.broadcast_to(np.asarray(values, dtype=float), columns.shape)
        self.rows += [row] * columns.size
        self.columns += columns.tolist()
        self.values += values.tolist()
        self.lower.append(lower)
        self.upper.append(upper)


@dataclass(frozen=True, eq=False)
class LotProgram(ByContent):
    """The arrays of a problem.

    Parameters
    ----------
    problem : LotProblem
    floors : ndarray, shape (n_goods,), optional
        No plan buys a food for less [money].

    Columns in order: choices, trips, lots, flows, trip flows. Food is counted in its own unit,
    its smallest package, so that tolerances mean the same for a can as for a sack.
    """

    problem: LotProblem
    floors: Array = field(default_factory=lambda: np.empty(0))

    @cached_property
    def unit(self) -> Array:
        """Grams of each food's unit, shape (n_goods,)."""
        problem = self.problem
        unit = np.full(len(problem.goods), np.inf)
        packs = [(size.good, size.grams) for size in problem.sizes]
        packs += [(stock.good, stock.grams) for stock in problem.stocks]
        for good, grams in packs:
            unit[good] = min(unit[good], grams)
        return np.where(np.isfinite(unit), unit, 1000.0)

    @cached_property
    def classes(self) -> list[tuple[int, int, int]]:
        """(good, opened, last) of every group of lots that keep alike."""
        lots = self.problem.lots
        found = set(zip(lots.good.tolist(), lots.opened.tolist(), lots.last.tolist(), strict=True))
        found |= {(good, -1, last) for good, last, _ in self.problem.open_stock() if last >= 0}
        return sorted(found)

    @cached_property
    def flows(self) -> list[tuple[int, int, int, int]]:
        """(good, opened, last, batch) of every flow column."""
        most = self.problem.most
        return [
            (good, opened, last, b)
            for good, opened, last in self.classes
            for b in range(max(opened, 0), last + 1)
            if most[good, b] > 0
        ]

    @cached_property
    def trip_flows(self) -> list[tuple[int, int, int]]:
        """(good, trip, batch) of the flows that tie trips to batches; −1 is stock."""
        problem = self.problem
        if not problem.trip_cost.any():
            return []
        lots = problem.lots
        reach: dict[tuple[int, int], int] = {}
        for good, trip, last in zip(lots.good, lots.trip, lots.last, strict=True):
            key = (int(good), int(trip))
            reach[key] = max(reach.get(key, -1), int(last))
        for good, last, _ in problem.open_stock():
            reach[good, -1] = max(reach.get((good, -1), -1), last)
        return [
            (good, trip, b)
            for (good, trip), last in sorted(reach.items())
            for b in range(0 if trip < 0 else problem.trips[trip].first_batch, last + 1)
            if problem.most[good, b] > 0
        ]

    @cached_property
    def at(self) -> dict[str, int]:
        """First column of each kind."""
        problem = self.problem
        sizes = {
            "choice": problem.need.shape[2],
            "trip": len(problem.trips) if problem.trip_cost.any() else 0,
            "lot": len(problem.lots),
            "flow": len(self.flows),
            "trip-flow": len(self.trip_flows),
        }
        starts, total = {}, 0
        for kind, count in sizes.items():
            starts[kind] = total
            total += count
        return {**starts, "end": total}

    @cached_property
    def needs(self) -> Array:
        """Need of each food, batch and choice [packages]."""
        return np.asarray(self.problem.need / self.unit[:, None, None])

    @cached_property
    def pieces(self) -> Array:
        """Packages' size in their food's unit, shape (n_lots,)."""
        return np.asarray(self.problem.lots.grams / self.unit[self.problem.lots.good])

    @cached_property
    def program(self) -> SparseProgram:
        """Everything but the rounding rows."""
        from scipy.sparse import csc_array

        problem, lots, at = self.problem, self.problem.lots, self.at
        rows = Rows()
        for group in problem.groups:
            rows.add([at["choice"] + c for c in group], 1.0, 1.0, 1.0)
        self._need_rows(rows)
        self._supply_rows(rows)
        for good in np.flatnonzero(self.floors):
            mine = np.flatnonzero(lots.good == good)
            rows.add(at["lot"] + mine, lots.price[mine], self.floors[good] * (1 - 1e-9), np.inf)
        for k, stock in enumerate(problem.stocks):
            if not stock.opened:
                rows.add(at["lot"] + np.flatnonzero(lots.stock == k), 1.0, -np.inf, stock.count)
        if np.isfinite(problem.room):
            self._room_rows(rows)
        if problem.trip_cost.any():
            self._trip_rows(rows)
        cost = np.zeros(at["end"])
        cost[at["lot"] : at["lot"] + len(lots)] = lots.price
        upper = np.full(at["end"], np.inf)
        upper[: at["lot"]] = 1.0
        offered = [choice for group in problem.groups for choice in group]
        upper[np.setdiff1d(np.arange(problem.need.shape[2]), offered)] = 0.0
        upper[at["lot"] : at["lot"] + len(lots)] = self._most_packages()
        if problem.trip_cost.any():
            cost[at["trip"] : at["lot"]] = problem.trip_cost
        matrix = csc_array(
            (rows.values, (rows.rows, rows.columns)), shape=(len(rows.lower), at["end"])
        )
        return SparseProgram(
            cost,
            matrix,
            np.array(rows.lower),
            np.array(rows.upper),
            np.zeros(at["end"]),
            upper,
        )

    @cached_property
    def integer(self) -> NDArray[np.bool_]:
        """Which columns are whole numbers: choices, trips and packages; n columns in all."""
        whole = np.zeros(self.at["end"], dtype=bool)
        whole[: self.at["flow"]] = True
        return whole

    def _most_packages(self) -> Array:
        """The most packages of each lot that could be used."""
        problem, lots = self.problem, self.problem.lots
        most = np.cumsum(np.pad(problem.most, ((0, 0), (1, 0))), axis=1)
        useful = most[lots.good, lots.last + 1] - most[lots.good, lots.opened]
        packages = np.ceil(useful / lots.grams - WHOLE)
        for k, stock in enumerate(problem.stocks):
            packages[lots.stock == k] = np.minimum(packages[lots.stock == k], stock.count)
        return np.asarray(packages)

    def _need_rows(self, rows: Rows) -> None:
        into: dict[tuple[int, int], list[int]] = {}
        for k, (good, _, _, batch) in enumerate(self.flows):
            into.setdefault((good, batch), []).append(self.at["flow"] + k)
        for good, batch in np.argwhere(self.problem.most > 0).tolist():
            chosen = np.flatnonzero(self.needs[good, batch])
            flows = into.get((good, batch), [])
            rows.add(
                [*flows, *(self.at["choice"] + chosen)],
                [*np.ones(len(flows)), *(-self.needs[good, batch, chosen])],
                0.0,
                0.0,
            )

    def _supply_rows(self, rows: Rows) -> None:
        lots = self.problem.lots
        of_class: dict[tuple[int, int, int], tuple[list[int], list[int]]] = {
            key: ([], []) for key in self.classes
        }
        for k, key in enumerate(zip(lots.good, lots.opened, lots.last, strict=True)):
            of_class[tuple(int(v) for v in key)][0].append(k)  # type: ignore[index]
        for k, (good, opened, last, _) in enumerate(self.flows):
            of_class[good, opened, last][1].append(k)
        there: dict[tuple[int, int, int], float] = {}
        for good, last, grams in self.problem.open_stock():
            there[good, -1, last] = there.get((good, -1, last), 0.0) + grams / self.unit[good]
        for key, (packs, flows) in of_class.items():
            rows.add(
                [*(self.at["flow"] + k for k in flows), *(self.at["lot"] + k for k in packs)],
                [*np.ones(len(flows)), *(-self.pieces[packs])],
                -np.inf,
                there.get(key, 0.0),
            )

    def _room_rows(self, rows: Rows) -> None:
        """One row a day, in litres; see `LotPlan.room`."""
        problem, lots, at = self.problem, self.problem.lots, self.at
        litre = np.array([good.millilitres for good in problem.goods]) / 1e3
        closed = np.array([problem.goods[i].chilled for i in lots.good], dtype=bool)
        bought = np.array([problem.trips[t].day if t >= 0 else 0 for t in lots.trip])
        opened_on = problem.mix_day[lots.opened]
        packs = lots.grams * litre[lots.good]
        flow = np.array(self.flows, dtype=np.int64).reshape(-1, 4)
        flow_open = np.array([problem.goods[i].chilled_open for i in flow[:, 0]], dtype=bool)
        flow_from = np.where(flow[:, 1] < 0, 0, problem.mix_day[np.maximum(flow[:, 1], 0)])
        flow_to = problem.mix_day[flow[:, 3]]
        flow_litres = self.unit[flow[:, 0]] * litre[flow[:, 0]]
        for day in range(len(problem.milk)):
            room = problem.room / 1e3
            columns: list[int] = []
            values: list[float] = []
            standing = closed & (lots.trip >= 0) & (bought <= day) & (day < opened_on)
            columns += (at["lot"] + np.flatnonzero(standing)).tolist()
            values += packs[standing].tolist()
            for k, stock in enumerate(problem.stocks):
                if stock.opened or not problem.goods[stock.good].chilled or day > stock.last_day:
                    continue
                room -= stock.count * stock.grams * litre[stock.good]
                gone = (lots.stock == k) & (opened_on <= day)
                columns += (at["lot"] + np.flatnonzero(gone)).tolist()
                values += (-packs[gone]).tolist()
            open_now = flow_open & (flow_from <= day) & (day < flow_to)
            columns += (at["flow"] + np.flatnonzero(open_now)).tolist()
            values += flow_litres[open_now].tolist()
            chosen = np.flatnonzero(problem.milk[day])
            columns += (at["choice"] + chosen).tolist()
            values += (problem.milk[day, chosen] / 1e3).tolist()
            rows.add(columns, values, -np.inf, room)

    @cached_property
    def room_rows(self) -> tuple[int, int]:
        """First row of the refrigerator's, and how many: one a day."""
        floors = np.count_nonzero(self.floors)
        stocks = sum(not stock.opened for stock in self.problem.stocks)
        before = len(self.problem.groups) + int((self.problem.most > 0).sum())
        return before + len(self.classes) + int(floors) + stocks, len(self.problem.milk)

    def _trip_rows(self, rows: Rows) -> None:
        problem, lots, at = self.problem, self.problem.lots, self.at
        out: dict[tuple[int, int], list[int]] = {}
        into: dict[tuple[int, int], list[int]] = {}
        for k, (good, trip, batch) in enumerate(self.trip_flows):
            column = at["trip-flow"] + k
            out.setdefault((good, trip), []).append(column)
            into.setdefault((good, batch), []).append(column)
            if trip >= 0:
                most = problem.most[good, batch] / self.unit[good]
                rows.add([column, at["trip"] + trip], [1.0, -most], -np.inf, 0.0)
        for (good, batch), columns in into.items():
            chosen = np.flatnonzero(self.needs[good, batch])
            rows.add(
                [*columns, *(at["choice"] + chosen)],
                [*np.ones(len(columns)), *(-self.needs[good, batch, chosen])],
                0.0,
                0.0,
            )
        for (good, trip), columns in out.items():
            packs = np.flatnonzero((lots.good == good) & (lots.trip == trip))
            there = sum(
                grams / self.unit[good]
                for other, _, grams in problem.open_stock()
                if trip < 0 and other == good
            )
            rows.add(
                [*columns, *(at["lot"] + packs)],
                [*np.ones(len(columns)), *(-self.pieces[packs])],
                -np.inf,
                there,
            )
        most_packages = self._most_packages()
        for j in range(len(problem.sizes)):
            for t in range(len(problem.trips)):
                packs = np.flatnonzero((lots.size == j) & (lots.trip == t))
                if packs.size:
                    # No more is ever bought on one trip than all batches it reaches can use.
                    reach = lots.last[packs].max()
                    good = problem.sizes[j].good
                    useful = problem.most[good, lots.opened[packs].min() : reach + 1].sum()
                    most = min(
                        most_packages[packs].sum(),
                        np.ceil(useful / problem.sizes[j].grams - WHOLE) + packs.size,
                    )
                    rows.add(
                        [*(at["lot"] + packs), at["trip"] + t],
                        [*np.ones(packs.size), -most],
                        -np.inf,
                        0.0,
                    )

    def point(self, plan: LotPlan) -> Array:
        """A plan as a point of the program."""
        at, problem, lots = self.at, self.problem, self.problem.lots
        x = np.zeros(at["end"])
        x[[at["choice"] + c for c in plan.choices]] = 1.0
        x[at["lot"] : at["lot"] + len(lots)] = plan.count
        place = {flow: at["flow"] + k for k, flow in enumerate(self.flows)}
        for flow, grams in plan.flows.items():
            x[place[flow]] += grams / self.unit[flow[0]]
        if problem.trip_cost.any():
            x[[at["trip"] + t for t in plan.trips_made]] = 1.0
            places = {flow: at["trip-flow"] + k for k, flow in enumerate(self.trip_flows)}
            for (good, trip, batch), grams in _by_trip(plan).items():
                x[places[good, trip, batch]] += grams / self.unit[good]
        return x

    def plan(self, x: Array, bound: float, complete: bool) -> LotPlan:
        """A whole-number point as a plan."""
        at, problem = self.at, self.problem
        choices = tuple(max(group, key=lambda c: x[at["choice"] + c]) for group in problem.groups)
        count = np.round(x[at["lot"] : at["lot"] + len(problem.lots)]).astype(np.int64)
        amounts = x[at["flow"] : at["flow"] + len(self.flows)]
        flows = {
            flow: float(amounts[k] * self.unit[flow[0]])
            for k, flow in enumerate(self.flows)
            if amounts[k] > 1e-9
        }
        return LotPlan(problem, choices, count, flows, bound, complete)


def _by_trip(plan: LotPlan) -> dict[tuple[int, int, int], float]:
    """Flows separated by the trip on which the food was bought; −1 is stock."""
    lots = plan.problem.lots
    left: dict[tuple[int, int, int], list[list[float]]] = {}
    for good, last, grams in plan.problem.open_stock():
        left.setdefault((good, -1, last), []).append([-1, grams])
    for k in np.flatnonzero(plan.count):
        key = (int(lots.good[k]), int(lots.opened[k]), int(lots.last[k]))
        left.setdefault(key, []).append([int(lots.trip[k]), float(plan.count[k] * lots.grams[k])])
    found: dict[tuple[int, int, int], float] = {}
    for (good, opened, last, batch), grams in plan.flows.items():
        wanted = grams
        for source in left.get((good, opened, last), []):
            taken = min(wanted, source[1])
            if taken > 0:
                source[1] -= taken
                wanted -= taken
                key = (good, int(source[0]), batch)
                found[key] = found.get(key, 0.0) + taken
    return found
