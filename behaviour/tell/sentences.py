"""The behaviour of a prop as plain sentences, in one fixed order, to be read aloud and signed.

They say all that the file says, and nothing else; what it leaves open is asked at the end.
"""

from behaviour.model import Model
from behaviour.tell import bench, regions, rules, things, world
from behaviour.tell.questions import questions
from behaviour.tell.sheet import Section, Sheet


def sheet_of(model: Model) -> Sheet:
    """Tell a model whole."""
    sections: tuple[Section, ...] = (
        things.prop(model),
        things.inputs(model),
        things.outputs(model),
        things.counters(model),
        *regions.regions(model),
        world.mechanism(model),
        rules.rules(model),
        rules.excuses(model),
        rules.walkthroughs(model),
        things.show(model),
        bench.wiring(model),
        bench.numbers(model),
        bench.names(model),
    )
    kept = tuple(section for section in sections if not section.is_empty)
    return Sheet(model.prop, kept, questions(model))
