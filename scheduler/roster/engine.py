"""The door to the solver: OR-tools CP-SAT, one worker, a fixed seed, deterministic effort.

The solver's own wrapper imports pandas, which alone takes longer than a demo season needs;
so the model is written straight into the solver's published model format (cp_model.proto).
"""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any, Literal, TypeAlias

Status: TypeAlias = Literal["proven", "found", "impossible", "unknown"]
SEED = 20_270_320


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the solver says.

    Args:
        status: ``proven`` optimal, ``found`` something, ``impossible``, or ``unknown``.
        values: value of every variable; empty unless proven or found.
        objective: of these values.
        bound: no solution has less.
        effort: deterministic effort spent.
    """

    status: Status
    values: Sequence[int]
    objective: int
    bound: int
    effort: float


class Stopped(KeyboardInterrupt):
    """Somebody stopped the search.

    Args:
        outcome: what had been found by then.
    """

    def __init__(self, outcome: Outcome) -> None:
        super().__init__()
        self.outcome = outcome


def _door() -> Any:
    """The module that has both the model format and the solver."""
    from ortools.sat.python import cp_model_helper

    return cp_model_helper


class Model:
    """A model under construction. A literal is a variable's number, or ``no(literal)``."""

    def __init__(self) -> None:
        self._slim = _door()
        self.proto = self._slim.CpModelProto()

    @staticmethod
    def no(literal: int) -> int:
        """The opposite of a literal."""
        return -literal - 1

    def flag(self) -> int:
        """A new yes/no variable."""
        return self.integer(0, 1)

    def integer(self, low: int, high: int) -> int:
        """A new whole number in low..high."""
        self.proto.variables.add().domain.extend((low, high))
        return len(self.proto.variables) - 1

    def one_of(self, literals: Sequence[int]) -> None:
        """Exactly one holds."""
        self.proto.constraints.add().exactly_one.literals.extend(literals)

    def any_of(self, literals: Sequence[int]) -> None:
        """At least one holds."""
        self.proto.constraints.add().bool_or.literals.extend(literals)

    def row(self, variables: Sequence[int], factors: Sequence[int], low: int, high: int) -> int:
        """Low <= sum of factor times variable <= high; returns the number of the row."""
        linear = self.proto.constraints.add().linear
        linear.vars.extend(variables)
        linear.coeffs.extend(factors)
        linear.domain.extend((low, high))
        return len(self.proto.constraints) - 1

    def span(self, start: int, length: int) -> int:
        """A span of fixed length that begins at a variable; returns its number."""
        constraint = self.proto.constraints.add()
        constraint.interval.start.vars.append(start)
        constraint.interval.start.coeffs.append(1)
        constraint.interval.size.offset = length
        constraint.interval.end.vars.append(start)
        constraint.interval.end.coeffs.append(1)
        constraint.interval.end.offset = length
        return len(self.proto.constraints) - 1

    def at_once(self, spans: Sequence[int], amounts: Sequence[int], room: int) -> None:
        """Spans that lie over one another take no more than the room together."""
        cumulative = self.proto.constraints.add().cumulative
        cumulative.capacity.offset = room
        cumulative.intervals.extend(spans)
        for amount in amounts:
            cumulative.demands.add().offset = amount

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

    def solve(self, effort: float, seconds: float | None = None, **settings: Any) -> Outcome:
        """Run the solver.

        Args:
            effort: deterministic limit.
            seconds: limit by the clock; None keeps the answer independent of the machine.
            settings: further solver parameters.

        Raises:
            Stopped: somebody pressed Ctrl-C; it bears what had been found.
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
        if seconds is not None:
            parameters.max_time_in_seconds = seconds
        for name, value in settings.items():
            setattr(parameters, name, value)
        wrapper = self._slim.SolveWrapper()
        parameters.catch_sigint_signal = False  # else nobody would learn of a Ctrl-C
        wrapper.set_parameters(parameters)
        return self._run(wrapper)

    def _run(self, wrapper: Any) -> Outcome:
        """Solve beside the main thread, the only one in which Python hears of a Ctrl-C."""
        with ThreadPoolExecutor(1) as pool:
            answer = pool.submit(wrapper.solve, self.proto)
            try:
                return self._outcome(answer.result())
            except KeyboardInterrupt:
                wrapper.stop_search()
                raise Stopped(self._outcome(answer.result())) from None

    def _outcome(self, response: Any) -> Outcome:
        slim = self._slim
        names: dict[Any, Status] = {
            slim.OPTIMAL: "proven",
            slim.FEASIBLE: "found",
            slim.INFEASIBLE: "impossible",
        }
        status = names.get(response.status, "unknown")
        if response.status == slim.MODEL_INVALID:
            raise AssertionError(slim.CpSatHelper.validate_model(self.proto))
        return Outcome(
            status,
            list(response.solution) if status in ("proven", "found") else [],
            round(response.objective_value),
            round(response.best_objective_bound),
            round(response.deterministic_time, 9),  # its last digits are not the same twice
        )
