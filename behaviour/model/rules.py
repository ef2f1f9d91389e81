"""What must hold of a prop, and what is excused."""

from dataclasses import dataclass, field
from enum import Enum

from behaviour.model.conditions import Condition
from behaviour.model.quantities import Time
from behaviour.source import NOWHERE, Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Never:
    """`never: C`, with `for: d` only for longer than `limit` without a break."""

    condition: Condition
    limit: Time | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Always:
    """`at all times: C`."""

    condition: Condition


@dataclass(frozen=True, slots=True, kw_only=True)
class AtMost:
    """`while: C`, `at most: d`."""

    condition: Condition
    limit: Time


@dataclass(frozen=True, slots=True, kw_only=True)
class AtLeast:
    """`while: C`, `at least: d`."""

    condition: Condition
    limit: Time


@dataclass(frozen=True, slots=True, kw_only=True)
class Whenever:
    """`whenever: A`, `then: B`, with `within: d` or whenever it comes (`limit` None)."""

    trigger: Condition
    response: Condition
    limit: Time | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class First:
    """`first: A`, `before: B`, with `since: C` anew each time that C begins."""

    condition: Condition
    before: Condition
    since: Condition | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Count:
    """`count: A`, `at most: n`, with `since: C` anew each time that C begins."""

    condition: Condition
    most: int
    since: Condition | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate:
    """`count: A`, `at most: n`, `per: d`: no more beginnings than `most` in less than `limit`."""

    condition: Condition
    most: int
    limit: Time


@dataclass(frozen=True, slots=True, kw_only=True)
class WayBack:
    """`way back: C`."""

    condition: Condition


Requirement = Never | Always | AtMost | AtLeast | Whenever | First | Count | Rate | WayBack


def conditions(requirement: Requirement) -> tuple[Condition, ...]:
    """List the conditions that a requirement is about, what it waits for first."""
    match requirement:
        case Whenever(trigger=trigger, response=response):
            return (trigger, response)
        case First(condition=condition, before=before, since=since):
            return (condition, before) if since is None else (condition, before, since)
        case Count(condition=condition, since=since) if since is not None:
            return (condition, since)
        case _:
            return (requirement.condition,)


class ScopeKind(Enum):
    """When a rule is in force; the values are the keys of the language."""

    ONLY_WHILE = "only while"
    ONCE_BEGUN = "once begun"
    UP_TO = "up to"


@dataclass(frozen=True, slots=True, kw_only=True)
class Scope:
    """The part of a run in which a rule is in force: each stretch of it is a run of its own.

    What begins in such a stretch begins no earlier than it does, and ends with it unjudged.
    """

    kind: ScopeKind
    condition: Condition


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    name: str
    requirement: Requirement
    scope: Scope | None = None
    because: str = ""
    span: Span = field(default=NOWHERE, compare=False)

    def conditions(self) -> tuple[Condition, ...]:
        """List the conditions that the rule is about, that of its scope last."""
        scope = () if self.scope is None else (self.scope.condition,)
        return (*conditions(self.requirement), *scope)


@dataclass(frozen=True, slots=True, kw_only=True)
class Excuse:
    """A finding of the name `check` is a note that carries `because`; `region`/`state` scope it."""

    check: str
    because: str
    region: str | None = None
    state: int | None = None
    span: Span = field(default=NOWHERE, compare=False)
