"""How the pieces of a lowered prop are spelled: the words of one language, and no more.

What is looked at and done, and in which order, the lowering decides once for all languages; a
`Spelling` gives it text. C is here, Python is in `python/spelling.py`.
"""

from typing import Protocol

from behaviour.model import State
from codegen.module import members_of


class Spelling(Protocol):
    """The words of a language.

    A `member` is a name in the prop; whatever else these take, and all that they give, is text of
    the language. `names` and `members` are taken already: no function, no member is called so.
    """

    names: frozenset[str]
    members: frozenset[str]

    def prefix(self, prefix: str) -> str:
        """Give what names begin with, of what the files are called."""

    def number(self, number: int) -> str:
        """Write a whole number that is never below 0."""

    def long_number(self, number: int) -> str:
        """Write a whole number of up to 32 bits."""

    def truth(self, *, is_true: bool) -> str:
        """Write true or false."""

    def value(self, enumerator: str, value: str) -> str:
        """Write a value of an input or output, which has an enumerator of its own."""

    def place(self, enumerator: str, around: tuple[State, ...], state: State, fired: int) -> str:
        """Write where a region is: in a leaf that has fired so many cues, inside `around`."""

    def own(self, member: str) -> str:
        """Name a member of the prop."""

    def state(self, member: str, *, own: bool) -> str:
        """Name a region's state; another region's is seen as the loop began."""

    def count(self, member: str, *, own: bool) -> str:
        """Name a counter; another region's is seen as the loop began."""

    def members_seen(self, text: str) -> frozenset[str]:
        """List the members that pieces of code see as the loop began."""

    def steady(self, member: str) -> str:
        """Name what counts of an input."""

    def became(self, member: str, changed: str) -> str:
        """Name whether an input changed in this loop."""

    def since(self, member: str, lasts: str) -> str:
        """Name for how many loops an input has counted so."""

    def inside(self, predicate: str, state: str) -> str:
        """Ask a predicate whether a state is inside another."""

    def loops(self, time: str) -> str:
        """Count a time of the settings in loops."""

    def lasted(self, so_long: str, needed: str) -> str:
        """Ask whether so many loops are as many as are needed."""

    def give(self, member: str, value: str) -> str:
        """Give a member of the prop a value."""

    def raised(self, member: str, amount: int, high: int) -> str:
        """Add to a counter, up to its bound."""

    def lowered(self, member: str, amount: int, low: int) -> str:
        """Take from a counter, down to its bound."""

    def draw(self, prefix: str, least: str, most: str) -> str:
        """Draw a time at random between two of the settings, in loops."""

    def chosen(self, test: str, value: str, other: str) -> str:
        """Give a value where a test holds, and else another."""

    def enter(self, function: str) -> str:
        """Call what enters a state that needs more than a plain one."""

    def enter_place(
        self, function: str, place: str, around: tuple[State, ...], target: State
    ) -> str:
        """Call what enters a plain leaf; `target`, inside `around`, is it or a state around it."""

    def fire_cue(self, member: str, place: str) -> str:
        """Go on to where the next cue leaves the leaf; its time goes on."""

    def look_outside(self, function: str, *, sees: bool) -> str:
        """Call what looks at the ways out of the states around."""


class InC:
    """C99, as the firmware has it."""

    names = frozenset(
        """
        begin_counters check_states count_time drive_outputs first_reading lasted longer look loops
        main now_ms prop raw read_inputs rest see seen state taken tell_board upset value
        """.split()  # noqa: SIM905 (words read better so)
    )
    members = frozenset[str]()

    def prefix(self, prefix: str) -> str:
        return prefix

    def number(self, number: int) -> str:
        return f"{number}u"

    def long_number(self, number: int) -> str:
        return f"UINT32_C({number})"

    def truth(self, *, is_true: bool) -> str:
        return "true" if is_true else "false"

    def value(self, enumerator: str, value: str) -> str:  # noqa: ARG002
        return enumerator

    def place(
        self,
        enumerator: str,
        around: tuple[State, ...],  # noqa: ARG002
        state: State,  # noqa: ARG002
        fired: int,  # noqa: ARG002
    ) -> str:
        return enumerator

    def own(self, member: str) -> str:
        return f"prop->{member}"

    def state(self, member: str, *, own: bool) -> str:
        return f"{'prop' if own else 'seen'}->{member}"

    def count(self, member: str, *, own: bool) -> str:
        return self.state(member, own=own)

    def members_seen(self, text: str) -> frozenset[str]:
        return members_of("seen", text)

    def steady(self, member: str) -> str:
        return self.own(member)

    def became(self, member: str, changed: str) -> str:  # noqa: ARG002
        return self.own(changed)

    def since(self, member: str, lasts: str) -> str:  # noqa: ARG002
        return self.own(lasts)

    def inside(self, predicate: str, state: str) -> str:
        return f"{predicate}({state})"

    def loops(self, time: str) -> str:
        return f"LOOPS({time})"

    def lasted(self, so_long: str, needed: str) -> str:
        return f"lasted({so_long}, {needed})"

    def give(self, member: str, value: str) -> str:
        return f"prop->{member} = {value};"

    def raised(self, member: str, amount: int, high: int) -> str:
        found = self.own(member)
        return f"{found} = ({found} < {high - amount}) ? ({found} + {amount}) : {high};"

    def lowered(self, member: str, amount: int, low: int) -> str:
        found = self.own(member)
        return f"{found} = ({found} > {low + amount}) ? ({found} - {amount}) : {low};"

    def draw(self, prefix: str, least: str, most: str) -> str:
        return f"{prefix}_board_random({self.loops(least)}, {self.loops(most)})"

    def chosen(self, test: str, value: str, other: str) -> str:
        return f"{test} ? {value} : {other}"

    def enter(self, function: str) -> str:
        return f"{function}(prop);"

    def enter_place(
        self,
        function: str,
        place: str,
        around: tuple[State, ...],  # noqa: ARG002
        target: State,  # noqa: ARG002
    ) -> str:
        return f"{function}(prop, {place});"

    def fire_cue(self, member: str, place: str) -> str:
        return self.give(member, place)

    def look_outside(self, function: str, *, sees: bool) -> str:
        return f"{function}({'prop, seen' if sees else 'prop'});"


IN_C = InC()
