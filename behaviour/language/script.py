"""Reads a script: the steps of a walkthrough as plain text, one a line, for a prop that was read.

It knows nothing of what the steps do. A line may begin with `- `, as in a behaviour file; what
stands after `#`, and a line without anything, is passed over.
"""

import re

from behaviour.findings import Mistake
from behaviour.model import WalkStep
from behaviour.source import Source

_LINE = re.compile(r"^[ \t]*(?:-[ \t]+)?(?P<step>[^\s#][^#\n]*)", re.MULTILINE)


def read_script(spec: Source, script: Source) -> tuple[tuple[WalkStep, ...], tuple[Mistake, ...]]:
    """Read the steps of `script` for the prop of `spec`, which has no mistakes of its own.

    There are steps, or there are mistakes, whose places are those of the script.
    """
    from behaviour.language.conditions import read_step
    from behaviour.language.decode import decode
    from behaviour.language.nodes import Places, Scalar
    from behaviour.language.reader import read_nodes
    from behaviour.language.reading import Reading
    from behaviour.language.resolve_names import flatten, gather_names
    from behaviour.language.resolve_rules import resolve_step

    of_spec = Reading(Places(spec.text))
    root = read_nodes(of_spec.places, of_spec.mistakes)
    document = None if root is None else decode(of_spec, root)
    if document is None:
        return (), of_spec.mistakes.listed()
    reading = Reading(
        Places(script.text), settings=of_spec.settings, shared_states=of_spec.shared_states
    )
    flat = {region.name.text: flatten(region) for region in document.regions}
    names = gather_names(reading, document, flat)
    steps = []
    for line in _LINE.finditer(script.text):
        start, text = line.start("step"), line["step"].rstrip()
        end = start + len(text)
        written = read_step(
            reading, Scalar(text, reading.places.span(start, end), start, end, plain=True)
        )
        step = None if written is None else resolve_step(names, script.name, written)
        if step is not None:
            steps.append(step)
    mistakes = reading.mistakes.listed()
    return ((), mistakes) if mistakes else (tuple(steps), ())
