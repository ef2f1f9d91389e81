"""What a check found, as facts: its name, its severity, the places, and the run that shows it."""

from dataclasses import dataclass, field, replace
from enum import Enum

from behaviour.faults import Fault
from behaviour.source import Span


class Severity(Enum):
    BROKEN = "broken"
    DOUBTFUL = "doubtful"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of finding. The name is public, never renamed, never used again for another."""

    name: str
    severity: Severity
    summary: str


KINDS = (
    Kind("rule-broken", Severity.BROKEN, "a rule of the file is broken"),
    Kind("dead-end", Severity.BROKEN, "a state that no run ever leaves"),
    Kind("no-way-back", Severity.BROKEN, "the state that a region begins in is out of reach"),
    Kind("runaway", Severity.BROKEN, "a hazard stays away from rest while everybody stands still"),
    Kind("self-running", Severity.DOUBTFUL, "states go round with everybody standing still"),
    Kind("moves-at-power-up", Severity.BROKEN, "a hazard leaves rest before anyone did anything"),
    Kind("reverses-at-once", Severity.BROKEN, "a motor reverses without its pause"),
    Kind("never-reached", Severity.DOUBTFUL, "a state that no run enters"),
    Kind("never-taken", Severity.DOUBTFUL, "a transition that no run takes"),
    Kind("order-matters", Severity.NOTE, "only the written order decides between two transitions"),
    Kind("deaf", Severity.DOUBTFUL, "a state waits for a change that has already happened"),
    Kind("out-of-range", Severity.BROKEN, "a counter can be taken past its bound"),
    Kind("false-jam", Severity.BROKEN, "a timeout can cut off a healthy movement"),
    Kind("sensing-too-slow", Severity.BROKEN, "a rule's time is shorter than sensing takes"),
    Kind("empty-rule", Severity.DOUBTFUL, "a rule waits for what never happens"),
    Kind("unused", Severity.NOTE, "something that nothing uses"),
    Kind("unanswered", Severity.NOTE, "a state does not answer what other states do"),
    Kind("too-quick", Severity.DOUBTFUL, "a value, a cue or a state is over too soon"),
    Kind("unfiltered-edge", Severity.DOUBTFUL, "a change of a contact counts while it bounces"),
    Kind("blink-missed", Severity.DOUBTFUL, "the mechanism can pass a mark between two looks"),
    Kind("broken-wire-reads-safe", Severity.BROKEN, "a guard or stop reads safe with a cut wire"),
    Kind("wiring-contradicts", Severity.BROKEN, "a cut wire is said to read what it cannot"),
    Kind("unguarded", Severity.DOUBTFUL, "a motor, servo or heater that nothing stops for people"),
    Kind("looks-alike", Severity.DOUBTFUL, "two states that ask for different things look alike"),
    Kind("guard-open-moves", Severity.BROKEN, "a hazard moves while a guard is not safe"),
    Kind("stop-is-beaten", Severity.BROKEN, "a hazard is away from rest while a stop is active"),
    Kind("starts-unasked", Severity.BROKEN, "a hazard starts without a fresh press"),
    Kind("slow-stop-filter", Severity.BROKEN, "a stop or guard is known later than it must be"),
    Kind("restarts-by-itself", Severity.BROKEN, "a hazard starts again once an interlock is over"),
    Kind("guard-closing-starts", Severity.BROKEN, "closing a guard starts a hazard by itself"),
    Kind("held-start-counts", Severity.BROKEN, "a start that was held starts a hazard"),
    Kind("reset-restarts", Severity.BROKEN, "a reset, or a stop let go, starts a hazard by itself"),
    Kind("reset-on-press", Severity.DOUBTFUL, "a reset counts as soon as it is pressed"),
    Kind("mode-starts", Severity.BROKEN, "turning a mode selector starts a hazard by itself"),
    Kind("runs-unheld", Severity.BROKEN, "a hazard runs on after its button is let go"),
    Kind("timer-overflow", Severity.BROKEN, "a time longer than the firmware can count"),
    Kind("pin-clash", Severity.BROKEN, "two names on one pin"),
    Kind("pin-unfit", Severity.BROKEN, "a pin that the controller cannot use so"),
)

KIND = {kind.name: kind for kind in KINDS}

NOT_CHECKED_YET: tuple[str, ...] = ()
"""Checks of the design that this release does not make. Every run names them, if there are any."""


@dataclass(frozen=True, slots=True)
class Label:
    span: Span
    text: str


class Beat(Enum):
    """What the controller does in one loop time."""

    RUNS = "one loop"
    STARTS = "power-up"
    SKIPS = "nothing, and outputs stay"
    IS_DOWN = "nothing, and outputs are at rest"

    # members are single objects, and a search hashes them all the time
    __hash__ = object.__hash__


@dataclass(frozen=True, slots=True)
class Stimulus:
    """What one loop is given: raw readings, where each mechanism stands, the times drawn.

    `raw` is in the order of the model's inputs and `mechanism` (state numbers) of its mechanism;
    `draws` maps (region, transition number) to loops, for states entered in this loop. `stalled`
    numbers the mechanism and its movement that never ends, from the loop on in which it stalls.

    With something wrong, `true` is what inputs would have read on whole lines (empty: as `raw`),
    `beat` what the controller does, and `wrong` numbers the run's faults that act by now.
    """

    raw: tuple[str, ...]
    mechanism: tuple[int, ...] = ()
    draws: tuple[tuple[tuple[str, int], int], ...] = ()
    stalled: tuple[int, int] | None = None
    true: tuple[str, ...] = ()
    beat: Beat = Beat.RUNS
    wrong: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Run:
    """A concrete run, loop by loop from power-up, ending in `breach` or going round for ever.

    `stimuli[n]` is what loop n was given. With `repeats_from`, after the last loop the run goes
    on with loop `repeats_from`, and so for ever.
    """

    stimuli: tuple[Stimulus, ...]
    breach: int | None = None
    repeats_from: int | None = None
    says: tuple[tuple[int, str], ...] = ()
    """Lines of the story that no single loop tells, such as the sensing, by loop."""
    faults: tuple[Fault, ...] = ()
    """What is wrong in it."""

    def until(self, breach: int) -> "Run":
        """Give the run that ends in the loop of a breach."""
        return replace(self, stimuli=self.stimuli[: breach + 1], breach=breach)


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    kind: Kind
    severity: Severity
    message: str
    at: Label
    rule: str | None = None
    related: tuple[Label, ...] = ()
    also: tuple[str, ...] = ()
    hint: str = ""
    run: Run | None = None
    excused: str | None = None
    place: tuple[str, str] | None = field(default=None)
    """The region and state that it is about, by which an excuse can be scoped."""
    subject: tuple[str | int, ...] = ()
    """The region and the numbers of its transitions that it is about, if it is about any."""
    guesses: tuple[str, ...] = ()
    """The figures that it rests on and that the file calls guesses."""


class Answer(Enum):
    HOLDS = "holds"
    BROKEN = "broken"
    NOT_DECIDED = "not decided"


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """The answer on one rule or check; `why` says what a `not decided` lacks or how far it got.

    `guesses` are the figures that it rests on and that the file calls guesses.
    """

    name: str
    answer: Answer
    why: str = ""
    guesses: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Mistake:
    """Something wrong in how a file is written; the file cannot be checked until it is mended."""

    message: str
    at: Label
    related: tuple[Label, ...] = ()
    hint: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Explored:
    """How much was searched; `limit` and `reached` say what stopped it, if anything did."""

    symbolic_states: int
    complete: bool
    seconds: float
    limit: str = ""
    reached: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """All that checking one file gave: a verdict for each rule and each check, and the findings."""

    rules: tuple[Verdict, ...]
    checks: tuple[Verdict, ...]
    findings: tuple[Finding, ...]
    explored: Explored
