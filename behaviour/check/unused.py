"""What stands in a file and nothing uses: inputs, output values, counters, settings, drives."""

from collections.abc import Iterator
from dataclasses import replace

from behaviour.check.asking import Asking
from behaviour.check.verdicts import Told, finding
from behaviour.explore.guards import atoms
from behaviour.findings import Answer, Finding, Verdict
from behaviour.model import Compare, Condition, InState, Model
from behaviour.source import Span


def check_unused(asking: Asking) -> Told:
    """List what nothing uses, as notes."""
    found = tuple(_unused(asking.model))
    answer = Answer.BROKEN if found else Answer.HOLDS
    return Told((Verdict(name="unused", answer=answer),), found)


def _unused(model: Model) -> Iterator[Finding]:
    named = {
        atom.region if isinstance(atom, InState) else atom.name
        for condition in _every_condition(model)
        for atom in atoms(condition)
    }
    compared = {
        atom.name
        for condition in _every_condition(model)
        for atom in atoms(condition)
        if isinstance(atom, Compare)
    }
    for item in model.inputs:
        if item.name not in named:
            yield _found(f"nothing looks at the input `{item.name}`", item.span)
    for counter in model.counters:
        if counter.name not in compared:
            yield _found(f"nothing looks at the counter `{counter.name}`", counter.span)
    for setting in model.settings:
        if not setting.uses:
            yield _found(f"nothing uses the setting `{setting.name}`", setting.span)
    given = {
        (setting.output, setting.value)
        for region in model.regions
        for state in region.states
        for setting in (*state.sets, *(each for cue in state.cues for each in cue.sets))
    }
    for output in model.outputs:
        for value in output.values:
            if value != output.rest and (output.name, value) not in given:
                yield _found(f"no state sets `{output.name}` to `{value}`", output.span)
    driven = {output for output, _ in given}
    for drive in model.drives:
        if drive.output not in driven:
            yield _found(f"nothing moves the drive `{drive.output}`", drive.span)


def _every_condition(model: Model) -> Iterator[Condition | None]:
    for region in model.regions:
        for transition in region.transitions():
            yield transition.when
    for mechanism in model.mechanism:
        for movement in mechanism.movements():
            yield movement.during
    for rule in model.rules:
        yield from rule.conditions()


def _found(message: str, span: Span) -> Finding:
    return replace(finding("unused", message, span, "not used"))
