"""Rebuilds a model from the sentences that `tell` prints, by their fixed forms alone."""

import re
from dataclasses import replace
from itertools import groupby

from behaviour.language.motions import motion_of
from behaviour.model import Drive, Mechanism, Model, NamedSetting, Power, Quantity, Time, Unknown
from tests.tell import regions, rules, things
from tests.tell.clauses import QUOTE, THING, Clauses, time_in, unquoted
from tests.tell.page import Line, lines_of

SLOWS = "; it slows down before it rests"
SHOWS = {"To switch it on": "switch_on", "To make it safe": "make_safe", "Whom to call": "call"}


def read_page(markdown: str) -> Model:
    """Read a printed sheet of sentences as the model that it tells."""
    lines = lines_of(markdown)
    by_region = [
        [*group]
        for section, group in groupby(lines, key=lambda line: line.section)
        if re.fullmatch(r"What `\w+` does", section)
    ]
    by_mechanism = [
        [*group]
        for section, group in groupby(lines, key=lambda line: (line.section, line.part))
        if section[0] == "What the hardware does by itself"
    ]
    motions = [group for group in by_mechanism if group[0].text.startswith("Once ")]
    by_mechanism = [group for group in by_mechanism if group not in motions]
    numbers = {
        (name, state): number
        for group in (*by_region, *by_mechanism)
        for name, order, _, _ in [regions.states_in(group)]
        for number, state in enumerate(order)
    }

    def under(section: str) -> list[str]:
        return [line.text for line in lines if line.section == section]

    outputs = things.read_output(under("What it drives"))
    clauses = Clauses(numbers, outputs)

    model = Model(
        prop="",
        loop=0,
        regions=tuple(regions.read_region(clauses, group) for group in by_region),
        inputs=things.read_input(under("What it looks at")),
        outputs=outputs,
        counters=things.read_counters(under("What it counts")),
        mechanism=tuple(regions.read_mechanism(clauses, group) for group in by_mechanism),
        rules=tuple(rules.read_rule(clauses, line) for line in under("What is asked of it")),
        excused=tuple(
            rules.read_excuse(clauses, line) for line in under("What may be found, and is meant")
        ),
        walkthroughs=tuple(
            rules.read_walkthrough(clauses, line)
            for line in under("How it goes, from switching on")
        ),
        show=tuple(_shown(line) for line in under("For whoever runs the show")),
        unknowns=_unknowns(lines),
    )
    model = _whole(model, under("The prop"))
    turning_on = tuple(_motion(model, line.text) for group in motions for line in group)
    model = replace(model, mechanism=(*model.mechanism, *turning_on))
    model = _wired(model, under("How it is wired"))
    return _named(_numbered(model, under("Its numbers")), under("Names in the file"))


def _whole(model: Model, lines: list[str]) -> Model:
    for line in lines:
        if found := re.fullmatch(rf"The prop is called {QUOTE}", line):
            model = replace(model, prop=unquoted(found[1]))
        elif found := re.fullmatch(rf"What it does: {QUOTE}", line):
            model = replace(model, about=unquoted(found[1]))
        elif found := re.fullmatch(r"The controller looks at everything once every (.*)\.", line):
            model = replace(model, loop=_known(time_in(found[1])))
        elif found := re.fullmatch(r"The controller is of the kind `(\w+)`\.", line):
            model = replace(model, controller=found[1])
        elif found := re.fullmatch(
            r"Once a guard is really unsafe, all that is dangerous must rest within (.*)\.", line
        ):
            model = replace(model, reaction=time_in(found[1]))
        elif found := re.fullmatch(
            r"Should the controller hang, it is started again after (.*)\.", line
        ):
            model = replace(model, watchdog=time_in(found[1]))
        else:
            found = re.fullmatch(
                r"Started again, the controller needs (.*) before it looks\.", line
            )
            assert found, line
            model = replace(model, boot=time_in(found[1]))
    return model


def _motion(model: Model, line: str) -> Mechanism:
    found = re.fullmatch(rf"Once {THING} rests, it may turn on for up to (.*)\.", line)
    assert found, line
    return motion_of(model.output[found[1]], model.loop, time_in(found[2]))


def _known(time: Time) -> int:
    assert isinstance(time, int)
    return time


def _shown(line: str) -> tuple[str, str]:
    found = re.fullmatch(rf"([\w ]+): {QUOTE}", line)
    assert found, line
    return SHOWS[found[1]], unquoted(found[2])


def _unknowns(lines: list[Line]) -> tuple[Unknown, ...]:
    asked = (re.fullmatch(r"What is `(.*)`\? It is not known yet\.", line.text) for line in lines)
    return tuple(Unknown(found[1]) for found in asked if found)


def _wired(model: Model, lines: list[str]) -> Model:
    words = dict(map(things.wired, lines))
    inputs = tuple(
        replace(each, wiring=things.wired_input(words.get(each.name, []))) for each in model.inputs
    )
    outputs = tuple(
        replace(each, wiring=things.wired_output(words.get(each.name, [])))
        for each in model.outputs
    )
    return replace(model, inputs=inputs, outputs=outputs)


def _numbered(model: Model, lines: list[str]) -> Model:
    drives, power = [], None
    for line in lines:
        if found := re.fullmatch(rf"The noise of {THING}: (.*)\.", line):
            noise, _ = _figures(found[2])
            inputs = (
                replace(each, noise=noise) if each.name == found[1] else each
                for each in model.inputs
            )
            model = replace(model, inputs=tuple(inputs))
        elif found := re.fullmatch(rf"The drive of {THING} is a ([\w-]+): (.*)\.", line):
            given = found[3].removesuffix(SLOWS)
            figures, torque = _figures(given)
            drive = Drive(output=found[1], kind=found[2], figures=figures, torque=torque)
            drives.append(replace(drive, ramp_down=given != found[3]))
        else:
            found = re.fullmatch(r"The power is ([\w-]+): (\d+) cells(?:; (.*))?\.", line)
            assert found, line
            figures, _ = _figures(found[3] or "")
            power = Power(chemistry=found[1], cells=int(found[2]), figures=figures)
    return replace(model, drives=tuple(drives), power=power)


Figures = tuple[tuple[str, Quantity], ...]


def _figures(text: str) -> tuple[Figures, tuple[tuple[Quantity, Quantity], ...]]:
    figures: list[tuple[str, Quantity]] = []
    torque: list[tuple[Quantity, Quantity]] = []
    for part in filter(None, text.split("; ")):
        if part.startswith("torque "):
            for point in part.removeprefix("torque ").split(", "):
                force, speed = map(things.quantity, point.split(" at "))
                torque.append((speed, force))
        else:
            found = re.fullmatch(r"`([\w.]+)` (.*)", part)
            assert found, part
            figures.append((found[1], things.quantity(found[2])))
    return tuple(figures), tuple(torque)


def _named(model: Model, lines: list[str]) -> Model:
    settings: list[NamedSetting] = []
    for line in lines:
        found = re.fullmatch(
            rf"`(\w+)` stands for {QUOTE}, and is used (nowhere|once|\d+ times)\.", line
        )
        if found:
            uses = {"nowhere": 0, "once": 1}.get(found[3])
            uses = int(found[3].split()[0]) if uses is None else uses
            settings.append(NamedSetting(name=found[1], text=unquoted(found[2]), uses=uses))
        else:
            name = re.fullmatch(r"The names of its C begin with `(\w+)`\.", line)
            assert name, line
            model = replace(model, firmware_name=name[1])
    return replace(model, settings=tuple(settings))
