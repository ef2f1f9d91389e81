"""Reads `walkthroughs`: stories that are told step by step and run as tests.

It knows nothing of which names there are.
"""

from behaviour.language import syntax
from behaviour.language.conditions import read_step
from behaviour.language.fields import items_at, mapping_at, narrowed
from behaviour.language.nodes import Listing, Mapping, Node, Scalar
from behaviour.language.reading import Reading
from behaviour.language.shapes import TEXT, ListOf, Named, Text
from behaviour.language.syntax import Word

FORM = "one clean shot: [press trigger, see carousel in turn within 50 ms]"

WALKTHROUGHS = Named(ListOf(Text("a step, such as `press trigger`"), least=1), TEXT)


def decode_walkthroughs(reading: Reading, node: Node) -> tuple[syntax.Walkthrough, ...]:
    """Read every walkthrough."""
    mapping = mapping_at(reading, node, "`walkthroughs`", FORM)
    found = []
    for entry in () if mapping is None else mapping.entries:
        name = Word(entry.key.text, entry.key.span)
        items = items_at(reading, entry.value, f"`{name.text}`", FORM)
        if isinstance(entry.value, Listing) and not items:
            message = f"the walkthrough `{name.text}` has no steps"
            reading.mistakes.add(name.span, message, hint=f"write `{FORM}`")
        steps = [_step(reading, item) for item in items]
        whole = tuple(step for step in steps if step is not None)
        found.append(syntax.Walkthrough(name=name, steps=whole))
    return tuple(found)


def _step(reading: Reading, node: Node) -> syntax.Step | None:
    if isinstance(node, Mapping) and node.entries and isinstance(node.entries[0].value, Scalar):
        reading.mistakes.add(
            narrowed(node.span),
            "a step is one text, without a colon",
            label="read as a key and its value",
            hint="write the step in words, such as `press trigger`",
        )
        return None
    return read_step(reading, node)
