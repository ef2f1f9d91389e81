"""What could be changed, for each kind of finding whose check does not say it itself."""

from dataclasses import replace

from behaviour.findings import Finding, Severity
from behaviour.model import Model

PLAIN = {
    "never-reached": "a transition that leads here, or leave it out",
    "never-taken": "its condition, or its place above the line that always wins; or leave it out",
    "order-matters": "the order of the two if the other is to win, or a condition in one of them "
    "that keeps them apart",
    "empty-rule": "what the rule waits for; or leave it out",
    "unused": "leave it out, or use it",
    "unanswered": "a way on, or `ignores` if that is meant",
    "too-quick": "a time before the way out, or the same value in the state that follows",
    "unfiltered-edge": "a `steady` of 5 ms or more",
    "blink-missed": "shorter loops, or a longer mark on the hardware",
    "broken-wire-reads-safe": "a contact that is closed while all is safe",
    "wiring-contradicts": "what `pull` and `low` say, or `unplugged`",
    "unguarded": "a guard, a stop, or a button that is held to run",
    "looks-alike": "another lamp, light or sound in one of them",
    "pin-clash": "a pin of its own for each",
    "pin-unfit": "another pin, or a transistor or driver where the current is too much",
    "timer-overflow": "a shorter time, or several states one after the other",
    "rule-broken": "what the states of this story set, or the ways out of them",
    "dead-end": "a transition that can be taken then",
    "runaway": "a time after which the state is left, such as `{after: 2 s, go: ...}`",
    "self-running": "a state that waits for a person",
    "moves-at-power-up": "a state at the beginning that waits for a person",
    "reverses-at-once": "a state between the two directions that leaves it at rest so long",
    "deaf": "ask whether it is so instead of whether it becomes so, or a time as a way out",
    "out-of-range": "a condition on the counter before it is counted",
    "false-jam": "a time longer than the longest healthy movement and its filter",
    "guard-open-moves": "an interlock on the guard in every state that moves it",
    "stop-is-beaten": "an interlock on the stop, outermost, above everything else",
    "starts-unasked": "a `becomes` of a start on every way that starts it",
    "restarts-by-itself": "a state after the interlock that waits for a start",
    "guard-closing-starts": "a state after the guard that waits for a start",
    "held-start-counts": "a `becomes` of the start on the way that starts it",
    "reset-restarts": "a state after the reset that waits for a start",
    "reset-on-press": "a `becomes` of the reset's first value",
    "mode-starts": "a `becomes` of a start on the way that starts it",
    "runs-unheld": "an interlock or a way out on its being released",
    "slow-stop-filter": "a shorter `steady` for the value that is not safe",
    "sensing-too-slow": "a shorter `steady` for that value, or a longer time in the rule",
}

SAFETY_NET = "nothing, if this is what is to happen when a movement gets stuck"
"""Said of what only a stalled movement leads to."""


def with_hint(model: Model, finding: Finding) -> Finding:
    """Give a finding what could be changed, unless it has that already."""
    return finding if finding.hint else replace(finding, hint=_hint(model, finding))


def _hint(model: Model, finding: Finding) -> str:
    name = finding.kind.name
    if name.startswith("never-") and finding.run is not None:
        return SAFETY_NET
    if name == "no-way-back":
        region = None if finding.place is None else model.region.get(finding.place[0])
        home = "where the region begins"
        if region is not None:
            home = f"`{region.states[region.begins].name}`"
        return f"a transition that leads back to {home} from here"
    if name == "order-matters" and finding.severity is Severity.DOUBTFUL:
        return "the change that is waited for above what the clock does, so that it is never lost"
    return PLAIN[name]
