"""Which finding is laid on which state or arrow of a picture. It knows nothing of how it looks."""

from collections import defaultdict
from dataclasses import dataclass
from typing import TypeVar

from behaviour.findings import Finding, Severity
from behaviour.model import Model
from behaviour.source import NOWHERE, Span

Key = TypeVar("Key")

WORST_FIRST = (Severity.BROKEN, Severity.DOUBTFUL, Severity.NOTE)

StateKey = tuple[str, str]
"""A region or mechanism region, and the name of a state in it."""

ArrowKey = tuple[str, int]
"""A region or mechanism region, and the number of a transition or movement in it."""

BEGIN = -1
"""Stands for the pointer to where a frame begins, beside the name of its bar."""


@dataclass(frozen=True, slots=True)
class Flags:
    """The findings by what they are about, worst first. `elsewhere` are about no drawn part."""

    on_state: dict[StateKey, tuple[Finding, ...]]
    on_arrow: dict[ArrowKey, tuple[Finding, ...]]
    elsewhere: tuple[Finding, ...]


def lay(model: Model, findings: tuple[Finding, ...]) -> Flags:
    """Lay each finding on the arrow it points at, else on the state it is about."""
    arrows = _arrow_spans(model)
    states = _states(model)
    on_state: dict[StateKey, list[Finding]] = defaultdict(list)
    on_arrow: dict[ArrowKey, list[Finding]] = defaultdict(list)
    elsewhere = []
    for finding in sorted(findings, key=_order):
        arrow = _arrow_at(arrows, finding.at.span)
        if arrow is not None:
            on_arrow[arrow].append(finding)
        elif finding.place is not None and finding.place in states:
            on_state[finding.place].append(finding)
        else:
            elsewhere.append(finding)
    return Flags(_frozen(on_state), _frozen(on_arrow), tuple(elsewhere))


def finding_name(finding: Finding) -> str:
    """Name a finding; a broken rule goes by the rule's own name."""
    return finding.rule or finding.kind.name


def _order(finding: Finding) -> tuple[int, Span, str]:
    return WORST_FIRST.index(finding.severity), finding.at.span, finding_name(finding)


def _states(model: Model) -> frozenset[StateKey]:
    places = [(region.name, state.name) for region in model.regions for state in region.states]
    places += [
        (mechanism.name, state.name)
        for mechanism in model.written_mechanism
        for state in mechanism.states
    ]
    return frozenset(places)


def _arrow_spans(model: Model) -> tuple[tuple[Span, ArrowKey], ...]:
    """List the place in the file of every arrow that was written in one."""
    spans = [
        (way.span, (region.name, way.number))
        for region in model.regions
        for way in region.transitions()
    ]
    spans += [
        (movement.span, (mechanism.name, movement.number))
        for mechanism in model.written_mechanism
        for movement in mechanism.movements()
    ]
    return tuple((span, key) for span, key in spans if span != NOWHERE)


def _arrow_at(arrows: tuple[tuple[Span, ArrowKey], ...], span: Span) -> ArrowKey | None:
    return next((key for around, key in arrows if _contains(around, span)), None)


def _contains(around: Span, span: Span) -> bool:
    begins = (around.line, around.column) <= (span.line, span.column)
    ends = (span.end_line, span.end_column) <= (around.end_line, around.end_column)
    return begins and ends


def _frozen(found: dict[Key, list[Finding]]) -> dict[Key, tuple[Finding, ...]]:
    return {key: tuple(findings) for key, findings in found.items()}
