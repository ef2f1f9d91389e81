"""What a rule waits for, without which it holds only because that never happens."""

from collections.abc import Iterator
from typing import NamedTuple

from behaviour.explore.guards import atoms
from behaviour.model import (
    Always,
    Condition,
    Never,
    Rule,
    Scope,
    WayBack,
    Whenever,
    conditions,
)


class Awaited(NamedTuple):
    """A condition that a rule waits for: within its scope, and perhaps as a loop finds things."""

    condition: Condition
    scope: Scope | None
    found: bool = False


def awaited_by(rule: Rule) -> Iterator[Awaited]:
    """List what a rule waits for, its scope first."""
    scope = rule.scope
    if scope is not None:
        yield Awaited(scope.condition, None)
    match rule.requirement:
        case Never(condition=condition) | Always(condition=condition):
            parts = dict.fromkeys(atoms(condition))
            if len(parts) > 1:
                yield from (Awaited(part, scope) for part in parts)
        case Whenever(trigger=trigger):
            yield Awaited(trigger, scope, found=True)
        case WayBack():
            return
        case requirement:
            yield from (Awaited(each, scope) for each in conditions(requirement))
