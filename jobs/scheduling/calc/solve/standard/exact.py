"""The exact solver: proves a schedule the shortest, or finds a shorter one. Bounds go to the standing as they come."""

import numpy as np
from ortools.sat.python import cp_model

from jobs.scheduling.calc.solve.standard.network import Network
from jobs.scheduling.calc.solve.standard.standing import Standing
from jobs.scheduling.calc.standard.problem import StandardProject


class Exact:
    """A constraint model whose horizon is the best schedule known; that schedule is its hint."""

    def __init__(self, project: StandardProject, network: Network, standing: Standing) -> None:
        self.network, self.standing = network, standing
        self.model = cp_model.CpModel()
        self.starts: list[cp_model.IntVar] = []
        self._add_activities(project)
        self._add_links(project)
        self._add_resources(project)

    def _add_activities(self, project: StandardProject) -> None:
        heads = self.network.starts_by_number(self.network.heads)
        tails = self.network.starts_by_number(self.network.tails)
        self.length = self.model.new_int_var(self.standing.bound, self.standing.best, "length")
        hint = self.standing.starts
        hinted = self.network.starts_by_number(hint) if hint is not None else []
        for number in range(project.size):
            latest = max(heads[number], self.standing.best - tails[number])
            start = self.model.new_int_var(heads[number], latest, f"start {number + 1}")
            self.starts.append(start)
            if hinted:
                self.model.add_hint(start, hinted[number])
            self.model.add(self.length >= start + tails[number])
        if hinted:
            self.model.add_hint(self.length, self.standing.best)
        self.model.minimize(self.length)

    def _add_links(self, project: StandardProject) -> None:
        for before, followers in enumerate(project.followers):
            for follower in followers:
                self.model.add(self.starts[follower - 1] >= self.starts[before] + project.durations[before])

    def _add_resources(self, project: StandardProject) -> None:
        spans = [
            self.model.new_fixed_size_interval_var(start, length, f"span {number}")
            for number, (start, length) in enumerate(zip(self.starts, project.durations, strict=True), 1)
        ]
        for resource, capacity in enumerate(project.capacities):
            users = [
                number
                for number, demands in enumerate(project.demands)
                if demands[resource] and project.durations[number]
            ]
            self.model.add_cumulative(
                [spans[number] for number in users],
                [project.demands[number][resource] for number in users],
                capacity,
            )

    def run(self, workers: int, seed: int) -> None:
        """Solve until the standing is over; every schedule and bound found is handed to it."""
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = workers
        solver.parameters.random_seed = seed
        solver.parameters.max_time_in_seconds = max(0.01, self.standing.seconds_left)
        solver.best_bound_callback = lambda bound: self.standing.raise_bound(int(np.ceil(bound - 1e-6)))
        self.standing.on_proof = solver.stop_search
        if self.standing.over:
            return
        status = solver.solve(self.model, _Found(self))
        self.standing.on_proof = None
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            self.standing.raise_bound(int(np.ceil(solver.best_objective_bound - 1e-6)))


class _Found(cp_model.CpSolverSolutionCallback):
    """Hands each schedule over as it is found."""

    def __init__(self, exact: Exact) -> None:
        super().__init__()
        self.exact = exact

    def on_solution_callback(self) -> None:
        """A shorter schedule."""
        numbers = self.exact.network.numbers
        starts = np.array([self.value(self.exact.starts[int(number) - 1]) for number in numbers], np.int64)
        self.exact.standing.offer(int(self.value(self.exact.length)), starts)
