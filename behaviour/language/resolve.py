"""Makes the model of a file as written: every name looked up, every part in its place.

It knows the parts of a file, and leaves each to the module of its family.
"""

from pathlib import PurePath

from behaviour import model
from behaviour.language import syntax
from behaviour.language.motions import motion_of
from behaviour.language.names import as_identifier
from behaviour.language.reading import Reading
from behaviour.language.resolve_mechanism import resolve_mechanism
from behaviour.language.resolve_moves import stop_guesses
from behaviour.language.resolve_names import flatten, gather_names
from behaviour.language.resolve_regions import Owners, resolve_region
from behaviour.language.resolve_rules import resolve_excuse, resolve_rule, resolve_walkthrough
from behaviour.language.syntax import Word


def resolve(reading: Reading, document: syntax.Document, file: str) -> model.Model:
    """Make the model, as far as it can be; what is wrong is reported, and then it is of no use.

    `file` is the name of the file, after which the firmware is called unless it says otherwise.
    """
    flat = {region.name.text: flatten(region) for region in document.regions}
    names = gather_names(reading, document, flat)
    counters = tuple(item.whole for item in document.counters if item.whole is not None)
    by_name = {counter.name: counter for counter in counters}
    owners = Owners()
    forced: dict[str, Word] = {}
    mechanism = [resolve_mechanism(names, each, forced) for each in document.mechanism]
    rules = [resolve_rule(names, rule) for rule in document.rules]
    excused = [resolve_excuse(names, excuse) for excuse in document.excused]
    walkthroughs = tuple(resolve_walkthrough(names, walk) for walk in document.walkthroughs)
    outputs = tuple(item.whole for item in document.outputs if item.whole is not None)
    motions = (
        motion_of(
            output,
            document.loop,
            names.stops[output.name],
            stop_guesses(names.drives.get(output.name)),
        )
        for output in outputs
        if output.name in names.stops
    )
    return model.Model(
        prop=document.prop,
        loop=document.loop,
        regions=tuple(
            resolve_region(names, by_name, owners, region, flat[region.name.text])
            for region in document.regions
        ),
        inputs=tuple(item.whole for item in document.inputs if item.whole is not None),
        outputs=outputs,
        counters=counters,
        mechanism=(*mechanism, *motions),
        rules=tuple(rule for rule in rules if rule is not None),
        walkthroughs=walkthroughs,
        excused=tuple(excuse for excuse in excused if excuse is not None),
        settings=reading.settings.listed(),
        drives=document.drives,
        power=document.power,
        reaction=document.reaction,
        controller=document.controller,
        firmware_name=document.firmware_name or as_identifier(PurePath(file).stem),
        watchdog=document.watchdog,
        boot=document.boot,
        about=document.about,
        show=document.show,
        unknowns=tuple(sorted(reading.unknowns.values(), key=lambda unknown: unknown.span)),
    )
