"""The state diagram of a model as DOT text. Pure: the same model gives the same bytes.

Strategy: a frame for each region, a box for each state that holds others, one mark with cut
corners for each interlock instead of an arrow from every state. Line weight, line style and words
carry the meaning, never colour alone, so that a black and white print says as much. Labels are
plain text, because not every renderer draws others.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from graphviz import Digraph

from behaviour.draw import look
from behaviour.draw.flags import BEGIN, ArrowKey, Flags, lay
from behaviour.draw.labels import (
    about_lines,
    around_lines,
    arrow_lines,
    drawn_from,
    hazards_driven,
    interlock_lines,
    legend_lines,
    mechanism_lines,
    mechanism_state_lines,
    movement_lines,
    region_lines,
    state_lines,
    written_out,
)
from behaviour.draw.order import home_of, order_of
from behaviour.draw.pen import (
    Arrow,
    draw_arrow,
    draw_begin,
    draw_flag,
    draw_note,
    draw_row,
    flag_lines,
    write_begin,
)
from behaviour.findings import Finding
from behaviour.model import Mechanism, Model, Part, Region, State, Transition


@dataclass(frozen=True, slots=True)
class Subject:
    """What is drawn: a model, and the findings laid on it.

    `crossing` are arrows, by region and number, that are written out because they cross others.
    """

    model: Model
    flags: Flags
    crossing: frozenset[ArrowKey] = frozenset()

    def hidden(self, region: Region) -> frozenset[int]:
        """List the numbers of the transitions that are written in their state."""
        crossing = {number for name, number in self.crossing if name == region.name}
        return written_out(region) | crossing


def dot_text(model: Model, findings: Iterable[Finding] = ()) -> str:
    """Write the state diagram, with a flag on each state and arrow that a finding is about."""
    subject = Subject(model, lay(model, tuple(findings)))
    page = Digraph("behaviour", graph_attr=look.SHEET)
    page.attr(label=look.centred([model.prop]))
    with page.subgraph(name="cluster_about") as about:
        about.attr(label=look.centred(about_lines(model.about)), **look.ABOUT)
        with about.subgraph(name="cluster_legend") as sheet:
            legend = (*flag_lines(subject.flags.elsewhere), *legend_lines(model, frozenset()))
            sheet.attr(label=look.left(legend), **look.LEGEND)
            for region in model.regions:
                _region(sheet, subject, region)
            for mechanism in model.written_mechanism:
                _mechanism(sheet, subject, mechanism)
    return str(page.source)


def frame_texts(
    model: Model,
    findings: Iterable[Finding] = (),
    sheet: look.Look = look.SHEET,
    crossing: frozenset[ArrowKey] = frozenset(),
) -> tuple[str, ...]:
    """Write the frame of each region, and of each mechanism region, as a graph of its own.

    Arrows that are `crossing` others, by region and number, are written in their states.
    """
    subject = Subject(model, lay(model, tuple(findings)), crossing)
    frames = [_alone(region.name, sheet) for region in model.regions]
    for frame, region in zip(frames, model.regions, strict=True):
        _region(frame, subject, region)
    for mechanism in model.written_mechanism:
        frames.append(_alone(mechanism.name, sheet))
        _mechanism(frames[-1], subject, mechanism)
    return tuple(str(frame.source) for frame in frames)


def _alone(name: str, sheet: look.Look) -> Digraph:
    return Digraph(name, graph_attr=dict(sheet))


def legend_of(
    model: Model, findings: Iterable[Finding] = (), crossing: frozenset[ArrowKey] = frozenset()
) -> tuple[str, ...]:
    """Give what stands below the picture: the findings about no drawn part, and its marks."""
    flags = lay(model, tuple(findings))
    return (*flag_lines(flags.elsewhere), *legend_lines(model, crossing))


# --- Regions ------------------------------------------------------------------------------------


def _region(sheet: Digraph, subject: Subject, region: Region) -> None:
    with sheet.subgraph(name=f"cluster {region.name}") as frame:
        frame.attr(label=look.left([region.name]), **look.FRAME)
        bar = f"bar {region.name}"
        _begin(frame, subject, region, bar, region.begins)
        if about := region_lines(region):
            draw_note(frame, f"note {region.name}", about, above=bar)
        draw_row(frame, [_entry(region, state) for state in order_of(region).tops()])
        _fill(frame, subject, region, None)


def _begin(frame: Digraph, subject: Subject, region: Region, bar: str, begins: int) -> None:
    head = _entry(region, begins)
    if (bar, BEGIN) in subject.crossing:
        write_begin(frame, bar, head, region.states[begins].name)
    else:
        draw_begin(frame, bar, head)


def _fill(frame: Digraph, subject: Subject, region: Region, around: int | None) -> None:
    """Fill the frame of a region, or the box of the state `around`, with all that is in it."""
    holder = region if around is None else region.states[around]
    hidden = subject.hidden(region)
    for way in holder.interlocks:
        lines = interlock_lines(subject.model, region, way, holder.name, hidden)
        style = {**look.INTERLOCK, **look.room(lines, across=34.0)}
        frame.node(_interlock(region, way), look.left(lines), **style)
        if way.number in hidden:
            told = subject.flags.on_arrow.get((region.name, way.number), ())
            draw_flag(frame, _interlock(region, way), told)
    for state in region.states:
        if state.parent == around:
            _state(frame, subject, region, state)
    for way in region.transitions():
        if way.number not in hidden and home_of(region, way) == around:
            _arrow(frame, subject, region, way)


def _state(frame: Digraph, subject: Subject, region: Region, state: State) -> None:
    here = _id(region, state.number)
    found = subject.flags.on_state.get((region.name, state.name), ())
    for way in drawn_from(state):
        if way.number in subject.hidden(region):
            found += subject.flags.on_arrow.get((region.name, way.number), ())
    if state.begins is not None:
        with frame.subgraph(name=f"cluster {region.name} {state.name}") as box:
            box.attr(label=look.left([state.name]), **look.BOX)
            bar = _entry(region, state.number)
            _begin(box, subject, region, bar, state.begins)
            around = around_lines(subject.model, region, state, subject.hidden(region))
            if around:
                draw_note(box, here, around, above=bar)
            _fill(box, subject, region, state.number)
            draw_flag(box, here if around else bar, found)
        return
    is_hazardous = hazards_driven(subject.model, region, state)
    style = {**look.STATE, **look.HAZARD} if is_hazardous else look.STATE
    lines = state_lines(subject.model, region, state, subject.hidden(region))
    style = {**style, **look.room(lines, state.name)}
    frame.node(here, look.titled(state.name, lines), **style)
    draw_flag(frame, here, found)


def _arrow(frame: Digraph, subject: Subject, region: Region, way: Transition) -> None:
    told = flag_lines(subject.flags.on_arrow.get((region.name, way.number), ()))
    if isinstance(way.target, int):
        head = _entry(region, way.target)
    else:
        head = f"unknown {region.name} {way.number}"
        frame.node(head, "unknown", **look.QUESTION)
    if way.source is None or is_marked_interlock(region, way):
        frame.edge(_interlock(region, way), head, look.beside(told), **look.INTERLOCK_ARROW)
        return
    arrow = Arrow(
        name=f"words {region.name} {way.number}",
        tail=_id(region, way.source),
        head=head,
        words=(*arrow_lines(subject.model, region, way), *told),
        goes_up=isinstance(way.target, int) and order_of(region).goes_up(way.source, way.target),
    )
    draw_arrow(frame, arrow, look.INTERLOCK_ARROW if way.part is Part.INTERLOCK else look.ARROW)


def is_marked_interlock(region: Region, way: Transition) -> bool:
    """Tell whether a mark stands for arrows from several states; a lone state has a plain arrow."""
    is_lone = way.source is not None and not region.states[way.source].children
    return way.part is Part.INTERLOCK and not is_lone


# --- Mechanism ----------------------------------------------------------------------------------


def _mechanism(sheet: Digraph, subject: Subject, mechanism: Mechanism) -> None:
    with sheet.subgraph(name=f"cluster {mechanism.name}") as frame:
        frame.attr(label=look.left(mechanism_lines(mechanism)), **look.MECHANISM_FRAME)
        names = [f"state {mechanism.name} {state.name}" for state in mechanism.states]
        if mechanism.begins is not None:
            draw_begin(frame, f"bar {mechanism.name}", names[mechanism.begins])
        for state, name in zip(mechanism.states, names, strict=True):
            lines = mechanism_state_lines(state)
            style = {**look.MECHANISM_STATE, **look.room(lines, state.name)}
            frame.node(name, look.titled(state.name, lines), **style)
            draw_flag(frame, name, subject.flags.on_state.get((mechanism.name, state.name), ()))
        for movement in mechanism.movements():
            found = subject.flags.on_arrow.get((mechanism.name, movement.number), ())
            arrow = Arrow(
                name=f"words {mechanism.name} {movement.number}",
                tail=names[movement.source],
                head=names[movement.target],
                words=(*movement_lines(subject.model, movement), *flag_lines(found)),
                goes_up=movement.target < movement.source,
            )
            draw_arrow(frame, arrow, look.MOVEMENT)


# --- Names of what is drawn ---------------------------------------------------------------------


def _id(region: Region, state: int) -> str:
    return f"state {region.name} {region.states[state].name}"


def _entry(region: Region, state: int) -> str:
    """Give where an arrow to `state` ends: at the bar of one that holds others."""
    if region.states[state].children:
        return f"bar {region.name} {region.states[state].name}"
    return _id(region, state)


def _interlock(region: Region, way: Transition) -> str:
    return f"interlock {region.name} {way.number}"
