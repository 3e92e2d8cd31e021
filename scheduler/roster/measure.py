"""The aims of one part as whole numbers: what a plan has, what none can be below, and sums."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scheduler.roster.aims import BY_BLOCK, FIT, HIRE, LATE, Costs, block_price, hired, value_of
from scheduler.roster.order import Choices
from scheduler.roster.placements import Block
from scheduler.roster.problem import Problem

LARGEST = 1 << 52  # whole numbers up to here pass through the solver's floating point unharmed


@dataclass(frozen=True, slots=True)
class Sum:
    """Aims in their order as one sum: a unit of one outweighs all that follow it.

    Args:
        aims: their names.
        lows: what no plan can be below.
        weights: factors, the last of them 1.
    """

    aims: tuple[str, ...]
    lows: tuple[int, ...]
    weights: tuple[int, ...]

    def bounds(self, bound: int, values: Mapping[str, int]) -> dict[str, int]:
        """What a bound of the sum says of each aim; aims after one not proven are not told of.

        Args:
            bound: no plan has less of the sum.
            values: what the plan has of each aim.
        """
        rest = bound - sum(w * low for w, low in zip(self.weights, self.lows, strict=True))
        answer = {}
        for aim, low, weight in zip(self.aims, self.lows, self.weights, strict=True):
            # the aims after it may take up what is left of a whole unit
            answer[aim] = low + -(-(rest - weight + 1) // weight)
            if answer[aim] < values[aim]:
                break
            rest -= weight * (values[aim] - low)
        return answer


@dataclass(frozen=True, slots=True)
class Measure:
    """How the plans of a part are measured.

    Args:
        problem: the whole problem.
        choices: blocks of the visits of the part.
        costs: of them.
        aims: their names, in order.
        all_in: whether every visit of the part is placed.
    """

    problem: Problem
    choices: Choices
    costs: Costs
    aims: Sequence[str]
    all_in: bool

    def value(self, aim: str, plan: Mapping[str, Block]) -> int:
        """What a plan has of an aim."""
        return value_of(aim, self.problem, self.choices, self.costs, plan)

    def every(self, plan: Mapping[str, Block]) -> tuple[int, ...]:
        """All aims of a plan, in their order."""
        return tuple(self.value(aim, plan) for aim in self.aims)

    def least(self, aim: str) -> int:
        """What no plan can be below, seen without solving."""
        return sum(low for low, _ in self._single(aim)) + self._hire(aim, int(self.all_in))

    def most(self, aim: str) -> int:
        """What no plan can be above, for the later aims."""
        n_days = sum(max(len(block.days) for block in ps) for ps in self.choices.values())
        return sum(high for _, high in self._single(aim)) + self._hire(aim, n_days)

    def _single(self, aim: str) -> list[tuple[int, int]]:
        """The least and the most of each visit; what may be left out can always have nothing."""
        if aim.startswith(FIT):
            return [(0, self.value(aim, {}))]
        name = BY_BLOCK.get(aim, "waiting")
        found = []
        for visit_id, blocks in self.choices.items():
            amounts = [getattr(self.costs[visit_id][block.first], name) for block in blocks]
            found.append((min(amounts), max(amounts)))
        return found if self.all_in else [(min(low, 0), max(high, 0)) for low, high in found]

    def _hire(self, aim: str, n_blocks: int) -> int:
        """What so many blocks of each kit that the part needs come to."""
        if aim != HIRE:
            return 0
        steps = (s for visit_id in self.choices for s in self.problem.visit_by_id[visit_id].steps)
        used = {kit for step in steps for kit in step.uses}
        return sum(n_blocks * block_price(kit) for kit in hired(self.problem) if kit.id in used)

    def summed(self, aim: str) -> Sum:
        """The aim and those after it, as far as one sum can hold them in their order."""
        following = self.aims[self.aims.index(aim) :]
        group = LATE if aim in LATE else [one for one in self.aims if one.startswith(FIT)]
        rest = [one for one in following if one in group] or [aim]
        lows, sizes = [self.least(one) for one in rest], []
        size = 1
        for one, low in zip(rest, lows, strict=True):
            sizes.append(self.most(one) - low + 1)
            size *= sizes[-1]
            if size > LARGEST and len(sizes) > 1:
                sizes.pop()
                break
        weights = [1]
        for n in range(len(sizes) - 1, 0, -1):
            weights.insert(0, weights[0] * sizes[n])
        return Sum(tuple(rest[: len(sizes)]), tuple(lows[: len(sizes)]), tuple(weights))

    def at_least(self, aim: str) -> Choices:
        """Only the blocks that give each visit the least it can have of an aim."""
        name, answer = BY_BLOCK[aim], {}
        for visit_id, blocks in self.choices.items():
            amounts = [getattr(self.costs[visit_id][block.first], name) for block in blocks]
            low = min(amounts)
            kept = zip(blocks, amounts, strict=True)
            answer[visit_id] = [block for block, amount in kept if amount == low]
        return answer
