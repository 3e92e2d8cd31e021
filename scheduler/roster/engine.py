"""The door to the solver: OR-tools CP-SAT, one worker, a fixed seed, deterministic effort.

The solver's own wrapper imports pandas, which alone takes longer than a demo season needs;
so the model is written straight into the solver's published model format (cp_model.proto).

Decided: the solver runs beside the main thread. Refused: its own Ctrl-C handler; it tells nobody.
Held by tests/roster/test_stopped.py::test_what_the_solver_had_found_when_stopped_is_kept.
"""

from collections.abc import Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

SEED = 20_270_320


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the solver says."""

    proven: bool  # whether no solution is better
    values: Sequence[int]  # value of every variable; empty where none was found
    bound: int  # no solution has less
    effort: float  # deterministic effort spent
    stopped: bool = False  # whether somebody pressed Ctrl-C


class Model:
    """A model under construction. A literal is a variable's number, or ``no(literal)``."""

    def __init__(self) -> None:
        from ortools.sat.python import cp_model_helper  # only who solves waits

        self._slim = cp_model_helper
        self.proto = self._slim.CpModelProto()

    @staticmethod
    def no(literal: int) -> int:
        """The opposite of a literal."""
        return -literal - 1

    def flag(self) -> int:
        """A new yes/no variable."""
        self.proto.variables.add().domain.extend((0, 1))
        return len(self.proto.variables) - 1

    def one_of(self, literals: Sequence[int]) -> None:
        """Exactly one holds."""
        self.proto.constraints.add().exactly_one.literals.extend(literals)

    def any_of(self, literals: Sequence[int]) -> None:
        """At least one holds."""
        self.proto.constraints.add().bool_or.literals.extend(literals)

    def row(self, variables: Sequence[int], factors: Sequence[int], low: int, high: int) -> None:
        """Low <= sum of factor times variable <= high."""
        linear = self.proto.constraints.add().linear
        linear.vars.extend(variables)
        linear.coeffs.extend(factors)
        linear.domain.extend((low, high))

    def fix(self, literals: Iterable[int], at_least: int) -> None:
        """Let variables be 1 (``at_least`` 1), or 0 or 1 again (0)."""
        for literal in literals:
            self.proto.variables[literal].domain[0] = at_least

    def minimise(self, variables: Sequence[int], factors: Sequence[int]) -> None:
        """Set the objective, in place of any earlier one."""
        self.proto.clear_objective()
        self.proto.objective.vars.extend(variables)
        self.proto.objective.coeffs.extend(factors)

    def hint(self, values: Sequence[int]) -> None:
        """Begin the search from these values, one for each variable."""
        self.proto.clear_solution_hint()
        self.proto.solution_hint.vars.extend(range(len(values)))
        self.proto.solution_hint.values.extend(values)

    def solve(self, effort: float, **settings: Any) -> Outcome:
        """Run the solver beside the main thread, the only one in which Python hears of a Ctrl-C.

        The effort is a deterministic limit; there is none by the clock, so that the answer does
        not depend on the machine. Settings are further solver parameters.
        """
        parameters = self._slim.SatParameters()
        parameters.num_workers = 1
        parameters.random_seed = SEED
        parameters.max_deterministic_time = effort
        parameters.linearization_level = 2  # measured: three times less effort than 1
        # the rows are made tight beforehand: probing and repeated presolve only cost time
        # (measured on the demo season: 1.08 s to 0.62 s, the same plan, proven)
        parameters.cp_model_probing_level = 0
        parameters.symmetry_level = 0
        parameters.max_presolve_iterations = 1
        # learning on the side, too (0.73 s to 0.54 s, the same plan, proven)
        parameters.inprocessing_probing_dtime = 0.0
        parameters.inprocessing_minimization_dtime = 0.0
        parameters.hint_conflict_limit = 0  # the serial plan is complete: nothing to repair
        parameters.catch_sigint_signal = False  # else nobody would learn of a Ctrl-C
        for name, value in settings.items():
            setattr(parameters, name, value)
        wrapper = self._slim.SolveWrapper()
        wrapper.set_parameters(parameters)
        with ThreadPoolExecutor(1) as pool:
            answer = pool.submit(wrapper.solve, self.proto)
            try:
                return self._outcome(answer.result(), stopped=False)
            except KeyboardInterrupt:
                wrapper.stop_search()
                return self._outcome(answer.result(), stopped=True)

    def _outcome(self, response: Any, *, stopped: bool) -> Outcome:
        slim = self._slim
        if response.status == slim.MODEL_INVALID:
            raise AssertionError(slim.CpSatHelper.validate_model(self.proto))
        return Outcome(
            response.status == slim.OPTIMAL,
            list(response.solution) if response.status in (slim.OPTIMAL, slim.FEASIBLE) else [],
            round(response.best_objective_bound),
            round(response.deterministic_time, 9),  # its last digits are not the same twice
            stopped,
        )
