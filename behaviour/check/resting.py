"""The guesses that verdicts rest on: figures of drives behind the times that a question looks at.

What a question cannot depend on is left out; all else counts, so that a guess may be named which
in the end does not matter, and none is left out that does.
"""

from collections.abc import Iterator
from dataclasses import replace

from behaviour.explore.cone import cone
from behaviour.findings import Answer, Finding, Outcome, Verdict
from behaviour.model import Model, Quantity, Rule

UNTIMED = frozenset(
    {
        "unused",
        "looks-alike",
        "broken-wire-reads-safe",
        "wiring-contradicts",
        "unguarded",
        "unfiltered-edge",
        "slow-stop-filter",
        "pin-clash",
        "timer-overflow",
    }
)
"""Checks that read the file alone, and no time that a drive gives."""

DRAWN = "pin-unfit"
"""The check that looks at the currents of outputs."""


def with_guesses(model: Model, outcome: Outcome) -> Outcome:
    """Name in each verdict and finding the guesses that it rests on."""
    if not guesses_of(model) and not _currents(model):
        return outcome
    rules = {rule.name: guesses_of_rule(model, rule) for rule in model.rules}
    return replace(
        outcome,
        rules=tuple(_resting(each, rules[each.name]) for each in outcome.rules),
        checks=tuple(_resting(each, _of_kind(model, each.name)) for each in outcome.checks),
        findings=tuple(_of_finding(model, each, rules) for each in outcome.findings),
    )


def guesses_of_rule(model: Model, rule: Rule) -> tuple[str, ...]:
    """Name the guesses behind whatever a rule can depend on."""
    return guesses_of(cone(model, rule.conditions()).model)


def guesses_of(model: Model) -> tuple[str, ...]:
    """Name the guesses behind the times of a prop."""
    return tuple(dict.fromkeys(_behind(model)))


def _behind(model: Model) -> Iterator[str]:
    for mechanism in model.mechanism:
        for movement in mechanism.movements():
            yield from movement.guesses
    for region in model.regions:
        for state in region.states:
            for setting in state.sets:
                yield from () if setting.move is None else setting.move.guesses


def _currents(model: Model) -> tuple[str, ...]:
    return tuple(
        f"{output.name}.draws"
        for output in model.outputs
        if isinstance(output.wiring.draws, Quantity) and output.wiring.draws.known == "guess"
    )


def _resting(verdict: Verdict, guesses: tuple[str, ...]) -> Verdict:
    """Say what a verdict rests on; what is not decided rests on nothing."""
    is_open = verdict.answer is Answer.NOT_DECIDED
    return verdict if is_open else replace(verdict, guesses=guesses)


def _of_finding(model: Model, finding: Finding, rules: dict[str, tuple[str, ...]]) -> Finding:
    if finding.rule is not None:
        return replace(finding, guesses=rules[finding.rule])
    within = model
    if finding.place is not None and finding.place[0] in model.region:
        within = cone(model, regions=(finding.place[0],)).model
    return replace(finding, guesses=_of_kind(within, finding.kind.name))


def _of_kind(model: Model, name: str) -> tuple[str, ...]:
    if name in UNTIMED:
        return ()
    return _currents(model) if name == DRAWN else guesses_of(model)
