"""A small interface to the CP-SAT solver of OR-Tools: whole numbers, linear rules, one cost.

The public interface `ortools.sat.python.cp_model` imports pandas, which takes longer than a
whole check may. This module fills the same solver's model directly: a variable is its index, a
rule is a sum of (coefficient, variable) between two bounds. The answer is deterministic (one
worker, fixed seed); the tests compare it with the public interface.
"""

from collections.abc import Iterable
from dataclasses import dataclass

Term = tuple[int, int]       # coefficient, variable
FAR = 2**62                  # stands for "no bound"


@dataclass(frozen=True, slots=True)
class Answer:
    """An optimal answer: the value of every variable, in the order they were made, and the cost."""

    values: tuple[int, ...]
    cost: int


class Unproven(RuntimeError):
    """There is neither a best answer nor a proof that there is none. Usual cause: a bug in a model of this package."""


class Model:
    """A problem being built. Nothing is solved before `solve`."""

    def __init__(self) -> None:
        from ortools.sat.python import cp_model_helper

        self._cp = cp_model_helper
        self._proto = cp_model_helper.CpModelProto()

    def truth(self) -> int:
        """Return a new variable that is 0 or 1."""
        return self.whole(0, 1)

    def whole(self, least: int, most: int) -> int:
        """Return a new whole-number variable within bounds."""
        variable = self._proto.variables.add()
        variable.domain.extend((least, most))
        return len(self._proto.variables) - 1

    def between(self, least: int, terms: Iterable[Term], most: int) -> None:
        """Demand that the sum of the terms is neither below `least` nor above `most`."""
        linear = self._proto.constraints.add().linear
        for coefficient, variable in terms:
            linear.vars.append(variable)
            linear.coeffs.append(coefficient)
        linear.domain.extend((least, most))

    def at_most(self, terms: Iterable[Term], most: int) -> None:
        """Demand that the sum is at most `most`."""
        self.between(-FAR, terms, most)

    def at_least(self, terms: Iterable[Term], least: int) -> None:
        """Demand that the sum is at least `least`."""
        self.between(least, terms, FAR)

    def exactly(self, terms: Iterable[Term], value: int) -> None:
        """Demand that the sum is `value`."""
        self.between(value, terms, value)

    def minimise(self, terms: Iterable[Term]) -> None:
        """Take the sum as the cost."""
        for coefficient, variable in terms:
            self._proto.objective.vars.append(variable)
            self._proto.objective.coeffs.append(coefficient)

    def solve(self) -> Answer | None:
        """Return the best answer, None when it is proven that there is none.

        Raises Unproven when the solver stops short of either.
        """
        solver = self._cp.SolveWrapper()
        parameters = self._cp.SatParameters()
        parameters.num_workers = 1
        parameters.catch_sigint_signal = False   # else Ctrl-C is its own for good, and the process dies with no word
        parameters.random_seed = 1
        parameters.linearization_level = 2       # every rule in the relaxation: hard boards take 0.1 s, not minutes
        solver.set_parameters(parameters)
        response = solver.solve(self._proto)    # type: ignore[no-untyped-call]     # a compiled module whose stubs leave it out
        if response.status == self._cp.OPTIMAL:
            return Answer(tuple(response.solution), round(response.objective_value))
        if response.status == self._cp.INFEASIBLE:
            return None
        raise Unproven(f"the solver stopped with status {response.status!r}")
