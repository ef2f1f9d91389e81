"""How the pieces of a lowered prop are spelled in Python."""

import re

from behaviour.model import State
from behaviour.wording import cue_name

KEYWORDS = frozenset(
    """
    False None True and as assert async await break case class continue def del elif else except
    finally for from global if import in is lambda match nonlocal not or pass raise return try type
    while with yield
    """.split()  # noqa: SIM905 (words read better so)
)
"""The reserved words of Python, those too that are so in places only."""

BUILTINS = frozenset(
    """
    Exception bool dict enumerate float int isinstance iter len list max min next print property
    range round set sorted str sum super tuple zip globals
    """.split()  # noqa: SIM905 (words read better so)
)

FIXED = frozenset(
    """
    AngularServo Board Contact Condition DigitalOutputDevice ENDLESS FINGERPRINT
    HierarchicalMachine Input InputDevice Intervals LOOP_MS Levels Light MCP3008 Machine Motor
    NestedState OPEN PART PULLS PWMOutputDevice Prop Region Reversing Seen Selector Servo Sounds
    State Stepper Switches Watchdog WATCHDOG_MS board clock_ms count_time draw drive_outputs
    first_reading go in_loops look loops main now_ms os place prop random read_inputs read_moves
    rest run see seen self signal state step stopping sys taken tell_board threading time told
    trace traced upset wired_inputs wired_outputs
    """.split()  # noqa: SIM905 (words read better so)
)
"""Names of NAME.py that are the same in each."""


class InPython:
    """Python 3.11, as `transitions` and gpiozero go with it."""

    names = KEYWORDS | BUILTINS | FIXED
    members = KEYWORDS

    def prefix(self, prefix: str) -> str:  # noqa: ARG002
        return ""

    def number(self, number: int) -> str:
        return str(number)

    def long_number(self, number: int) -> str:
        return str(number)

    def truth(self, *, is_true: bool) -> str:
        return str(is_true)

    def value(self, enumerator: str, value: str) -> str:  # noqa: ARG002
        return f'"{value}"'

    def place(
        self,
        enumerator: str,  # noqa: ARG002
        around: tuple[State, ...],
        state: State,
        fired: int,
    ) -> str:
        return f'"{place_name(around, state, fired)}"'

    def own(self, member: str) -> str:
        return f"prop.{member}"

    def state(self, member: str, *, own: bool) -> str:
        return f"prop.{member}.state" if own else f"seen.{member}"

    def count(self, member: str, *, own: bool) -> str:
        return f"{'prop' if own else 'seen'}.{member}"

    def members_seen(self, text: str) -> frozenset[str]:
        return frozenset(re.findall(r"\bseen\.(\w+)", text))

    def steady(self, member: str) -> str:
        return f"prop.{member}.now"

    def became(self, member: str, changed: str) -> str:  # noqa: ARG002
        return f"prop.{member}.became"

    def since(self, member: str, lasts: str) -> str:  # noqa: ARG002
        return f"prop.{member}.since"

    def inside(self, predicate: str, state: str) -> str:
        return f"{predicate}({state})"

    def loops(self, time: str) -> str:
        return f"in_loops({time})"

    def lasted(self, so_long: str, needed: str) -> str:
        return f"{so_long} >= {needed}"

    def give(self, member: str, value: str) -> str:
        return f"prop.{member} = {value}"

    def raised(self, member: str, amount: int, high: int) -> str:
        return self.give(member, f"min(prop.{member} + {amount}, {high})")

    def lowered(self, member: str, amount: int, low: int) -> str:
        return self.give(member, f"max(prop.{member} - {amount}, {low})")

    def draw(self, prefix: str, least: str, most: str) -> str:  # noqa: ARG002
        return f"draw({self.loops(least)}, {self.loops(most)})"

    def chosen(self, test: str, value: str, other: str) -> str:
        return f"{value} if {test} else {other}"

    def enter(self, function: str) -> str:
        return f"{function}(prop)"

    def enter_place(
        self,
        function: str,
        place: str,  # noqa: ARG002
        around: tuple[State, ...],
        target: State,
    ) -> str:
        return f'{function}(prop, "{place_name(around, target, 0)}")'

    def fire_cue(self, member: str, place: str) -> str:
        return f"prop.{member}.go({place})"

    def look_outside(self, function: str, *, sees: bool) -> str:
        return f"{function}({'prop, seen' if sees else 'prop'})"


IN_PYTHON = InPython()


def place_name(around: tuple[State, ...], state: State, fired: int) -> str:
    """Name a leaf as its cues have left it: `travel.rise`, `shot@100ms`, `shot@1_5s`.

    No point may stand in the part of a cue, and two cues at one moment are told apart.
    """
    name = cue_name(state, fired).replace(".", "_")
    if fired:
        alike = [cue.at for cue in state.cues[: fired - 1]].count(state.cues[fired - 1].at)
        name += f"+{alike}" if alike else ""
    return ".".join((*(outer.name for outer in around), name))
