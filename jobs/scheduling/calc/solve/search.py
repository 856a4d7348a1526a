"""The search: simple rules first, then annealing from the best of them, on several threads when time ends it."""

import os
import time
from collections.abc import Callable, Sequence
from random import Random
from threading import Lock, Thread
from typing import Any

import numpy as np

from jobs.scheduling.calc.problem import Problem
from jobs.scheduling.calc.solve.anneal import HOT_MOST, anneal
from jobs.scheduling.calc.solve.builder import NOTHING, Budget, Builder, Choice, Kept
from jobs.scheduling.calc.solve.compiled import rows as r
from jobs.scheduling.calc.solve.compiled.tables import Pin, shop_tables
from jobs.scheduling.calc.solve.prepared import Prepared
from jobs.scheduling.calc.solve.priorities import Rule, from_starts, priorities
from jobs.scheduling.calc.solve.progress import Progress

SEED = 20270104
MOST_THREADS = 2
CYCLE_SCHEDULES = 12_000
"""An annealing run is no longer than about so many schedules; then another begins."""
CYCLE_LEAST_SECONDS = 1.5
CYCLES = 4
"""Annealing runs of one thread in the time given."""
SHORT_SCHEDULES, LONGER, MOST_STARTS = 1_800, 3, 12
"""Where moves are counted, a run is soon caught among moves that hold each other, and how late it will get depends on
where it began. So many begin, each no longer than about so many whole schedules take, and the best go on for longer:
3,000 instead came out up to a tenth later."""
SHORT_SHARE, GO_ON = 0.6, 6
"""Share of the time for the short runs, and how many of them go on; after these the best of all does."""
HOT_SHORT, HOT_LONG = 5.0, HOT_MOST
"""First temperatures of either, in weighted days late: more heat undoes what a short run has, tried on 25 jobs."""


Report = Callable[[Progress], bool]


class Search:
    """Looks for good choices for one problem. The best is ``kept``; ``stop`` ends every thread soon.

    ``pins`` with a ``budget`` look for a plan that moves little. ``report`` is called after a schedule (not more than
    ten times a second once time is what ends the search) and may return False to stop with the best so far. ``begun``:
    the moment of ``time.monotonic`` from which the seconds count, the preparation included.
    """

    def __init__(
        self,
        problem: Problem,
        *,
        prepared: Prepared | None = None,
        pins: Sequence[Pin] = (),
        budget: Budget | None = None,
        report: Report | None = None,
        seed: int = SEED,
        begun: float | None = None,
    ) -> None:
        self.begun = time.monotonic() if begun is None else begun
        self.prepared = prepared or Prepared(problem)
        self.shop = shop_tables(self.prepared, list(pins))
        self.budget, self.report, self.seed = budget, report, seed
        self.kept: Kept | None = None
        self.shown: Kept | None = None
        """What ``report`` is told of instead of the best, while something else than the plan to come is looked for."""
        self.starts: list[tuple[float, Choice]] = []
        self._short: list[tuple[tuple[float, ...], Choice]] = []
        self._begun = self._gone_on = 0
        self.built = self.planned = 0
        self.stopped = self.stopped_by_caller = False
        self._reported = 0.0
        self._lock = Lock()

    def begin_afresh(self, budget: Budget | None) -> None:
        """Forget what was found, and look for the best within another budget."""
        self.budget, self.kept, self.starts = budget, None, []
        self._short, self._begun, self._gone_on = [], 0, 0

    @property
    def seconds(self) -> float:
        """Time since the search began."""
        return time.monotonic() - self.begun

    def choice(self, priority: Sequence[float], *, pinned: bool = False, cautious: bool = False) -> Choice:
        """A choice without wishes, with all pins or none."""
        pins = np.full(len(self.shop.pin) + 1, int(pinned), dtype=np.int64)[: len(self.shop.pin)]
        wish = np.zeros((2, len(priority)), dtype=np.int64)
        wish[r.WISH_WHO] = r.NONE
        return Choice(np.array(priority, dtype=np.float64), wish, pins, cautious)

    def try_rules(self, rules: Sequence[Rule], *, pinned: bool = False) -> None:
        """Build the schedule of each rule; when each misses an appointment, once more with places kept for them.

        A search that was stopped builds them all the same: it takes milliseconds, and there is always an answer.
        """
        builder = Builder(self.shop, self.budget)
        for cautious in (False, True):
            for rule in rules:
                self._start(
                    builder, self.choice(priorities(self.prepared, rule), pinned=pinned, cautious=cautious), rule.name
                )
            if self.kept is not None and self.kept.score[0] == 0:
                return

    def try_present_plan(self, *, pinned: bool = False) -> None:
        """Build the schedule that follows the order of the plan in force, if there is one."""
        if self.prepared.problem.previous:
            present = self.choice(from_starts(self.prepared), pinned=pinned)
            self._start(Builder(self.shop, self.budget), present, "the plan in force")

    def start(self, choice: Choice, name: str) -> None:
        """Build the schedule of a choice, and anneal from it later if it is among the best."""
        self._start(Builder(self.shop, self.budget), choice, name)

    def _start(self, builder: Builder, choice: Choice, name: str) -> None:
        cost = builder.cost(choice)
        if cost < NOTHING:
            self.starts.append((cost, choice))
            self._found(builder, choice, name)

    def improve(self, *, rounds: int = 0, until: float | None = None, threads: int | None = None) -> None:
        """Anneal for so many schedules on this thread, or until ``seconds`` reaches ``until`` on several."""
        self.starts.sort(key=lambda start: start[0])
        if not self.starts or self.stopped:
            return
        if until is None:
            self._rounds(rounds)
            return
        others = [Thread(target=self._timed, args=(number, until)) for number in range(1, threads or thread_count())]
        for thread in others:
            thread.start()
        try:
            self._timed(0, until)
        except BaseException:
            self.stopped = True
            raise
        finally:
            for thread in others:
                thread.join()

    def _rounds(self, rounds: int) -> None:
        first, chance = self.built, Random(self.seed)

        def done() -> float:
            return 1.0 if self.stopped or not rounds else (self.built - first) / (rounds + 1)

        if rounds:
            builder = Builder(self.shop, self.budget)
            anneal(self.prepared, builder, self.starts[0][1], chance, done, self._found, self._late_limit)

    def _timed(self, number: int, until: float) -> None:
        """Annealing runs one after the other, each from the best so far or another good start."""
        chance = Random(self.seed + number)
        builder = Builder(self.shop, self.budget)
        if self.budget:
            self._short_and_longer(builder, chance, self.budget, until)
            return
        length = self._cycle_seconds(builder, until)
        cycle = number
        while not self.stopped and self.seconds < until - 0.02:
            begun = self.seconds
            end = min(until, begun + length) if until - begun - length > length / 2 else until

            def done(begun: float = begun, end: float = end) -> float:
                return 1.0 if self.stopped else (self.seconds - begun) / (end - begun)

            start = self.starts[cycle % min(3, len(self.starts))][1]
            if cycle >= thread_count() and cycle % 3 > 0 and self.kept:
                start = self.kept.choice
            anneal(self.prepared, builder, start, chance, done, self._found, self._late_limit)
            cycle += 1

    def _short_and_longer(self, builder: Builder, chance: Random, budget: Budget, until: float) -> None:
        """Short runs from many starts, then longer ones from the best of these."""
        first, short = self.seconds, SHORT_SCHEDULES * self._one_seconds(builder)
        short = min(short, (until - first) / (2 * LONGER))
        while not self.stopped and self.seconds < until - 0.02:
            begun = self.seconds
            goes_on = begun - first > SHORT_SHARE * (until - first)
            length = LONGER * short if goes_on else short
            end = min(until, begun + length) if until - begun - length > length / 2 else until
            best: list[tuple[tuple[float, ...], Choice]] = []

            def done(begun: float = begun, end: float = end) -> float:
                return 1.0 if self.stopped else (self.seconds - begun) / (end - begun)

            def found(builder: Builder, choice: Choice, best: list[Any] = best) -> None:
                if builder.complete and (not best or builder.score < best[0][0]):
                    best[:] = [(builder.score, choice.copy())]
                self._found(builder, choice)

            hot = np.inf if not budget.moves else HOT_LONG if goes_on else HOT_SHORT
            anneal(
                self.prepared, builder, self._next_start(goes_on), chance, done, found, self._late_limit, hot_most=hot
            )
            if not goes_on:
                self._short += best

    def _next_start(self, goes_on: bool) -> Choice:
        with self._lock:
            if goes_on:
                self._gone_on += 1
                if self._gone_on <= min(GO_ON, len(self._short)):
                    return sorted(self._short, key=lambda run: run[0])[self._gone_on - 1][1]
                if self.kept:
                    return self.kept.choice
            self._begun += 1
            return self.starts[(self._begun - 1) % min(MOST_STARTS, len(self.starts))][1]

    def _one_seconds(self, builder: Builder) -> float:
        """How long one whole schedule takes."""
        before = self.seconds
        builder.cost(self.starts[0][1])
        return max(1e-5, self.seconds - before)

    def _cycle_seconds(self, builder: Builder, until: float) -> float:
        before = self.seconds
        one = self._one_seconds(builder)
        return max(CYCLE_LEAST_SECONDS, (until - before) / CYCLES, CYCLE_SCHEDULES * one)

    def _late_limit(self) -> float:
        """A schedule with more days late than this cannot be the best one."""
        kept = self.kept
        return np.inf if kept is None or kept.score[0] else -np.inf if kept.score[1] else kept.score[2]

    def _found(self, builder: Builder, choice: Choice, name: str = "") -> None:
        """Count a schedule, keep it if it is the best, and report."""
        self.built += 1
        score = builder.score
        if builder.complete and (self.kept is None or score < self.kept.score):
            with self._lock:
                if self.kept is None or score < self.kept.score:
                    self.kept = builder.keep(choice, name or "search")
        if self.report and not self.stopped and (self.planned or self.seconds - self._reported > 0.1):
            self.goes_on()

    def goes_on(self) -> bool:
        """Report how it stands; False once the caller has asked to stop. Nothing is reported before a schedule."""
        best = self.shown or self.kept
        if self.report and best:
            with self._lock:
                self._reported = now = self.seconds
                told = Progress(self.built, self.planned, best.days_late, best.late_jobs, now)
                if not self.stopped and not self.report(told):
                    self.stopped = self.stopped_by_caller = True
        return not self.stopped_by_caller


def thread_count() -> int:
    """Threads of a timed search: a core each, two at most, so that the house's pages stay quick."""
    return min(MOST_THREADS, os.cpu_count() or 1)
