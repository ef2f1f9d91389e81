"""Takes a whole file apart, part by part, in an order in which each finds what it needs.

It knows the parts of the language by name, and leaves each to the module of its family.
"""

from collections import Counter as Tally
from collections.abc import Callable, Iterator
from typing import TypeVar

from behaviour import controllers
from behaviour.language.decode_inputs import INPUT, decode_inputs
from behaviour.language.decode_mechanism import MECHANISM, decode_mechanism
from behaviour.language.decode_numbers import DRIVE, decode_drives
from behaviour.language.decode_outputs import COUNTER, OUTPUT, decode_counters, decode_outputs
from behaviour.language.decode_power import POWER, decode_power
from behaviour.language.decode_regions import FORM as REGIONS_FORM
from behaviour.language.decode_regions import REGION, decode_regions
from behaviour.language.decode_rules import EXCUSED, RULE, decode_excused, decode_rules
from behaviour.language.decode_settings import decode_settings
from behaviour.language.decode_walkthroughs import WALKTHROUGHS, decode_walkthroughs
from behaviour.language.fields import Fields, Owner, check_name, fields_at, word_at
from behaviour.language.nodes import Mapping, Node, states_in
from behaviour.language.reading import Reading
from behaviour.language.shapes import NAME, TEXT, TIME, Choice, Group, ListOf, Text, things
from behaviour.language.syntax import Document
from behaviour.language.values import time_of
from behaviour.model import Micros, Unknown
from behaviour.source import Span
from behaviour.units import MICROS, shortened

LANGUAGE = "1"

_SHOWS = ("switch_on", "make_safe", "call")
_NAMED = ("inputs", "outputs", "counters", "settings", "regions", "mechanism")
_CARD = Group("card", dict.fromkeys(_SHOWS, TEXT))
FILE = Group(
    "behaviour file",
    {
        "language": Text("the language of the file", LANGUAGE, is_number=True),
        "prop": TEXT,
        "about": TEXT,
        "loop": TIME,
        "reaction": TIME,
        "watchdog": TIME,
        "boot": TIME,
        "controller": Choice(controllers.NAMES),
        "firmware_name": NAME,
        "inputs": things(INPUT),
        "outputs": things(OUTPUT),
        "counters": things(COUNTER),
        "settings": things(TEXT),
        "regions": things(REGION),
        "mechanism": things(MECHANISM),
        "rules": ListOf(RULE),
        "excused": EXCUSED,
        "walkthroughs": WALKTHROUGHS,
        "show": _CARD,
        "drives": things(DRIVE),
        "power": POWER,
    },
    needed=("language", "prop", "loop", "regions"),
)
_TOP = Span(1, 1, 1, 2)

Part = TypeVar("Part")


def decode(reading: Reading, root: Mapping) -> Document | None:
    """Read a file's parts; None where it is of another language than this one."""
    if not _is_of_this_language(reading, root):
        return None
    fields = fields_at(reading, root, Owner("the file", _TOP, FILE.thing), FILE.keys, "language: 1")
    if fields is None:
        return None
    fields.needed("language", "language: 1")
    reading.shared_states = _shared_states(root)
    if (settings := fields.node("settings")) is not None:
        decode_settings(reading, settings)
    fields.needed("prop", "prop: Confetti carousel")
    fields.needed("regions", f"regions: {{{REGIONS_FORM}}}")
    incomplete = _incomplete(fields, root)
    outputs = _section(fields, "outputs", decode_outputs)
    drives, power = fields.node("drives"), fields.node("power")
    return Document(
        prop=fields.text("prop"),
        about=fields.text("about"),
        loop=_loop(fields),
        reaction=fields.time("reaction", "reaction"),
        watchdog=fields.time("watchdog", "watchdog"),
        boot=fields.time("boot", "boot"),
        controller=fields.choice("controller", controllers.NAMES),
        firmware_name=_firmware_name(fields),
        show=_show(fields),
        inputs=_section(fields, "inputs", decode_inputs),
        outputs=outputs,
        counters=_section(fields, "counters", decode_counters),
        regions=_section(fields, "regions", decode_regions),
        mechanism=_section(fields, "mechanism", decode_mechanism),
        rules=_section(fields, "rules", decode_rules),
        excused=_section(fields, "excused", decode_excused),
        walkthroughs=_section(fields, "walkthroughs", decode_walkthroughs),
        drives=()
        if drives is None
        else decode_drives(reading, drives, outputs, all_known="outputs" not in incomplete),
        power=None if power is None else decode_power(reading, power, fields.key_span("power")),
        incomplete=incomplete,
    )


def _section(
    fields: Fields, key: str, decode_part: Callable[[Reading, Node], tuple[Part, ...]]
) -> tuple[Part, ...]:
    node = fields.node(key)
    return () if node is None else decode_part(fields.reading, node)


def _is_of_this_language(reading: Reading, root: Mapping) -> bool:
    """Refuse a file of another language by that alone: what else it means nobody knows here."""
    node = next((entry.value for entry in root.entries if entry.key.text == "language"), None)
    word = None if node is None else word_at(reading, node, "`language`", "a number")
    if word is None or word.text == LANGUAGE:
        return True
    reading.mistakes.add(
        word.span,
        f"this release reads language {LANGUAGE}, and the file is of `{shortened(word.text)}`",
        label="another language",
        hint=f"write `language: {LANGUAGE}`, or use the release that the file was written for",
    )
    return False


def _incomplete(fields: Fields, root: Mapping) -> frozenset[str]:
    """Name the parts of which a name may be missing, since something was refused there.

    A key of the file that is not known may be any of them, unless it is nearer to another.
    """
    unknown = [each.key.text for each in root.entries if each.key.text not in FILE.keys]
    near = [fields.reading.near(text, FILE.keys) for text in unknown]
    may_be_misspelt = root.damaged or any(not each or each[0] in _NAMED for each in near)
    found = set()
    for key in _NAMED:
        node = fields.node(key)
        if node is None:
            is_incomplete = may_be_misspelt
        else:
            is_incomplete = not isinstance(node, Mapping) or node.damaged
        if is_incomplete:
            found.add(key)
    return frozenset(found)


def _loop(fields: Fields) -> Micros:
    """Read the loop time; 10 ms stands in where it cannot be read, and that is reported."""
    reading, otherwise = fields.reading, 10 * MICROS["ms"]
    if fields.needed("loop", "loop: 10 ms") is None:
        return otherwise
    word = fields.word("loop", "a time")
    if word is None:
        return otherwise
    time = time_of(reading, word, "loop")
    if isinstance(time, Unknown):
        hint = "write `loop: 10 ms`, and change it when the board is chosen"
        reading.mistakes.add(word.span, "the loop time cannot be left open", hint=hint)
    if isinstance(time, Unknown) or time is None:
        return otherwise
    if time == 0 or time % MICROS["ms"]:
        message = f"the loop time is {shortened(word.text)}, and not a whole number of milliseconds"
        reading.mistakes.add(word.span, message, hint="write `loop: 10 ms`")
    return time


def _firmware_name(fields: Fields) -> str | None:
    word = fields.word("firmware_name", "a name")
    if word is None or not check_name(fields.reading, word):
        return None
    return word.text


def _show(fields: Fields) -> tuple[tuple[str, str], ...]:
    node = fields.node("show")
    if node is None:
        return ()
    owner = Owner("`show`", fields.key_span("show"), "card")
    show = fields_at(fields.reading, node, owner, _CARD.keys, "show: {switch_on: ..., call: ...}")
    return () if show is None else tuple((key, show.text(key)) for key in show.entries)


# --- States of several regions ------------------------------------------------------------------


def _shared_states(root: Mapping) -> frozenset[str]:
    """Find the names that more than one state has."""
    tally: Tally[str] = Tally()
    for entry in root.entries:
        if entry.key.text in ("regions", "mechanism") and isinstance(entry.value, Mapping):
            for region in entry.value.entries:
                tally.update(_state_names(region.value))
    return frozenset(name for name, times in tally.items() if times > 1)


def _state_names(node: Node) -> Iterator[str]:
    states = states_in(node)
    for entry in states.entries if isinstance(states, Mapping) else ():
        yield entry.key.text
        yield from _state_names(entry.value)
