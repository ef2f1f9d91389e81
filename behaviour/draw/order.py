"""Where the parts of a region come in its picture: what lies above, what beside, what inside."""

from collections import deque
from dataclasses import dataclass

from behaviour.model import Region, Transition

LONGEST_COLUMN = 10
"""States that stand below each other before a long picture goes on in a new column."""


@dataclass(frozen=True, slots=True)
class Order:
    """How many transitions away from the beginning each state is, by its number."""

    depths: tuple[int, ...]

    def goes_up(self, source: int, target: int) -> bool:
        """Tell whether an arrow leads up the picture."""
        return source != target and self.depths[target] <= self.depths[source]

    def changes_column(self, source: int, target: int) -> bool:
        """Tell whether an arrow would lead from one column to another."""
        return self._column(source) != self._column(target)

    def tops(self) -> tuple[int, ...]:
        """List the state that stands first in each column, from left to right."""
        columns = [self._column(state) for state in range(len(self.depths))]
        lasts = range(max(columns) + 1)
        return tuple(
            min((s for s, c in enumerate(columns) if c == column), key=self.depths.__getitem__)
            for column in lasts
        )

    def _column(self, state: int) -> int:
        if max(self.depths) <= LONGEST_COLUMN + 2:
            return 0
        return max(0, self.depths[state]) // LONGEST_COLUMN


def order_of(region: Region) -> Order:
    """Measure each state from where its region begins; what only interlocks enter comes first."""
    depths: dict[int, int] = {}
    queue = deque([(region.begins, 0)])
    while queue:
        state, depth = queue.popleft()
        entered = [number for number in region.path(state) if number not in depths]
        if not entered:
            continue
        depths.update(dict.fromkeys(entered, depth))
        begins = region.states[state].begins
        if begins is not None:
            queue.append((begins, depth + 1))
        for number in entered:
            queue.extend((target, depth + 1) for target in _targets(region, number))
    return Order(tuple(depths.get(state.number, -1) for state in region.states))


def home_of(region: Region, way: Transition) -> int | None:
    """Give the innermost state that holds both ends of an arrow, None for the region itself."""
    ends = [_boxes(region, end) for end in (way.source, way.target) if isinstance(end, int)]
    shared = [boxes[0] for boxes in zip(*ends, strict=False) if len(set(boxes)) == 1]
    return shared[-1] if shared else None


def _targets(region: Region, state: int) -> list[int]:
    here = region.states[state]
    ways = (*here.leave, *((here.end,) if here.end is not None else ()))
    return [way.target for way in ways if isinstance(way.target, int)]


def _boxes(region: Region, state: int) -> tuple[int, ...]:
    """List the boxes around what an arrow at `state` is tied to, outermost first."""
    path = region.path(state)
    return path if region.states[state].children else path[:-1]
