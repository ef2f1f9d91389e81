"""`draw`: the states as a picture, the timing of a run, or the wiring."""

from __future__ import annotations

import argparse
import sys
from pathlib import PurePath
from typing import TYPE_CHECKING, Literal, get_args

from behaviour.commands.answering import (
    OK,
    UNREADABLE,
    CommandError,
    complain,
    progress,
    put_out,
    readable_file,
)
from behaviour.commands.arguments import Arguments, Parser, UsageError, add_limit, add_maps
from behaviour.disk import read_text, write_whole

if TYPE_CHECKING:
    from behaviour.draw.shapes import Picture
    from behaviour.draw.stories import Story
    from behaviour.findings import Finding
    from behaviour.model import Model, Walkthrough
    from behaviour.pipeline import Readable

PictureForm = Literal["svg", "png", "pdf", "dot", "vcd", "scxml"]
NOT_FOR_TERMINALS = ("png", "pdf")


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    parser = Parser(
        "tablework draw",
        description="Draw the states with findings laid on them, a run over time, or the wiring.",
    )
    parser.add_argument("spec", metavar="SPEC", help="a behaviour file")
    parser.add_argument(
        "--timing",
        metavar="STORY",
        help="draw a run over time: a walkthrough, a story by the name of its rule or finding or "
        "by its number, or a recording from the bench (.vcd, .csv, or a trace)",
    )
    add_maps(parser)
    parser.add_argument(
        "--story", metavar="FILE", help="with --timing: a story from `check --as json`"
    )
    parser.add_argument("--wiring", action="store_true", help="draw the terminal strip instead")
    parser.add_argument(
        "--as", dest="form", choices=get_args(PictureForm), help="else as `--out` ends, or svg"
    )
    parser.add_argument(
        "--paper",
        choices=("a4", "a3"),
        help="with PDF: the paper; else the smaller on which the letters are 2.5 mm high",
    )
    parser.add_argument("--out", metavar="FILE", help="write it there; else it is printed")
    parser.add_argument("--unchecked", action="store_true", help="do not look for findings first")
    add_limit(parser)
    asked = parser.parse_args(arguments)
    form = asked.form or picture_form(asked.out)
    _refuse_what_does_not_go(asked, form)
    readable = readable_file(asked.spec)
    if readable is None:
        return UNREADABLE
    if form == "scxml":
        data = _scxml(readable)
    elif asked.wiring:
        data = _wiring(readable, asked, form)
    elif asked.timing is not None or asked.story is not None:
        data = _timing(readable, asked, form)
    else:
        data = _states(readable, asked, form)
    if asked.out is None:
        sys.stdout.flush()
        sys.stdout.buffer.write(data)
    else:
        write_whole(asked.out, data)
        put_out(f"drawn: {asked.out}\n")
    return OK


def picture_form(out: str | None) -> PictureForm:
    """Tell from the name of a file which kind of picture is meant; SVG where it does not say."""
    match PurePath(out or "").suffix.lower():
        case ".png":
            return "png"
        case ".pdf":
            return "pdf"
        case ".vcd":
            return "vcd"
        case ".dot" | ".gv":
            return "dot"
        case ".scxml":
            return "scxml"
        case ".svg" | "":
            return "svg"
        case other:
            raise CommandError(
                f"`{other}` is no kind of picture here: use .svg, .png, .pdf, .dot, .vcd or .scxml"
            )


def _refuse_what_does_not_go(asked: argparse.Namespace, form: PictureForm) -> None:
    is_timing = asked.timing is not None or asked.story is not None
    if asked.wiring and (is_timing or form in ("dot", "vcd", "scxml")):
        raise UsageError("the wiring is no run and no graph: use `--as svg`, `png` or `pdf`")
    if form == "vcd" and not is_timing:
        raise UsageError("a waveform is of a run: say which with `--timing`")
    if form in ("dot", "scxml") and is_timing:
        raise UsageError("the timing of a run is no graph: use `--as svg`, `png`, `pdf` or `vcd`")
    if form in NOT_FOR_TERMINALS and asked.out is None and sys.stdout.isatty():
        raise CommandError(
            f"a {form.upper()} is not for a terminal: say where it goes with `--out FILE.{form}`"
        )


def _scxml(readable: Readable) -> bytes:
    from behaviour.draw.scxml import scxml_text
    from behaviour.semantics import NotKnownError

    try:
        return scxml_text(readable.model).encode()
    except NotKnownError as problem:
        raise CommandError(f"as SCXML nothing can be left open: {problem}") from problem


# --- The states ---------------------------------------------------------------------------------


def _states(readable: Readable, asked: argparse.Namespace, form: PictureForm) -> bytes:
    from behaviour.draw.render import CannotDrawError, need_program
    from behaviour.draw.state_diagram import dot_text
    from behaviour.draw.states import diagram
    from behaviour.draw.writing import written
    from behaviour.findings import Severity

    findings = () if asked.unchecked else _findings(readable, asked.limit)
    shown = tuple(each for each in findings if each.severity is not Severity.NOTE)
    if form in ("dot", "vcd"):
        return dot_text(readable.model, shown).encode()
    try:
        need_program(form)
        drawn = diagram(readable.model, shown)
        pages = drawn.pages(asked.paper) if form == "pdf" else ()
        data = written(drawn.sheet(), pages, form)
    except CannotDrawError as problem:
        raise CommandError(str(problem)) from problem
    for complaint in drawn.complaints:
        complain(f"`dot` says: {complaint}")
    return data


def _findings(readable: Readable, seconds: float) -> tuple[Finding, ...]:
    from behaviour.pipeline import check

    with progress(f"checking {readable.source.name}"):
        return check(readable, seconds).outcome.findings


# --- The timing of a run ------------------------------------------------------------------------


def _timing(readable: Readable, asked: argparse.Namespace, form: PictureForm) -> bytes:
    if asked.story is None and is_recording(readable.model, asked.timing):
        return _recorded(readable.model, asked, form)
    story = _story(readable, asked)
    if form == "vcd":
        from behaviour.rehearse.waveform import vcd_text

        return vcd_text(readable.model, story.run).encode()
    from behaviour.draw.timing.chart import timing_chart

    return _written(timing_chart(readable.model, story.run, story.title, story.breach), asked, form)


def is_recording(model: Model, name: str) -> bool:
    """Tell whether what is to be drawn is a file of the bench, and no walkthrough or story."""
    from behaviour.bench.reading import SUFFIXES

    walked = any(walkthrough.name == name for walkthrough in model.walkthroughs)
    return not walked and PurePath(name).suffix.lower() in SUFFIXES


def _recorded(model: Model, asked: argparse.Namespace, form: PictureForm) -> bytes:
    """Draw a recording; of a trace with several power-ups the first."""
    from behaviour.bench.capture import CaptureError
    from behaviour.commands.recordings import captures_of
    from behaviour.draw.timing.recorded import recorded_chart

    if form == "vcd":
        raise UsageError("a recording is no run of the behaviour: use `--as svg`, `png` or `pdf`")
    try:
        captures = captures_of(model, asked.timing, asked.map)
    except CaptureError as problem:
        raise CommandError(f"`{asked.timing}` cannot be drawn: {problem}") from problem
    if len(captures) > 1:
        complain(f"`{asked.timing}` has {len(captures)} power-ups; the first is drawn")
    picture = recorded_chart(model, captures[0], PurePath(asked.timing).name)
    return _written(picture, asked, form)


def _wiring(readable: Readable, asked: argparse.Namespace, form: PictureForm) -> bytes:
    from behaviour.draw.wiring import wiring

    return _written(wiring(readable.model), asked, form)


def _written(picture: Picture, asked: argparse.Namespace, form: PictureForm) -> bytes:
    from behaviour.draw.render import CannotDrawError
    from behaviour.draw.sheet import on_pages
    from behaviour.draw.writing import written

    try:
        return written(picture, on_pages(picture, asked.paper), form)
    except CannotDrawError as problem:
        raise CommandError(str(problem)) from problem


def _story(readable: Readable, asked: argparse.Namespace) -> Story:
    """Find the story or walkthrough that is asked for, or tell which there are."""
    from behaviour.draw.stories import story_named

    walked = readable.model.walkthroughs if asked.story is None else ()
    for walkthrough in walked:
        if walkthrough.name == asked.timing:
            return _walked(readable.model, walkthrough)
    stories = (
        _stories_in(readable, asked.story) if asked.story else _stories_of(readable, asked.limit)
    )
    which = asked.timing or "1"
    found = story_named(stories, which)
    if found is not None:
        return found
    names = ", ".join(
        [f"{each.number} `{each.name}`" for each in stories]
        + [f"the walkthrough `{walkthrough.name}`" for walkthrough in walked]
    )
    if not names:
        raise CommandError("there is no story to draw: nothing was found that has one")
    raise CommandError(f"there is no story `{which}`: there are {names}")


def _walked(model: Model, walkthrough: Walkthrough) -> Story:
    """Play a walkthrough; where a step fails, the run ends there and is marked."""
    from behaviour.draw.stories import story_of_walkthrough
    from behaviour.rehearse.walking import perform

    performance = perform(model, walkthrough)
    failure = performance.failure
    if failure is not None:
        complain(f"the walkthrough `{walkthrough.name}` fails at line {failure.step.span.line}")
    if not performance.moments:
        raise CommandError(f"nothing of `{walkthrough.name}` could be played")
    return story_of_walkthrough(walkthrough.name, performance)


def _stories_of(readable: Readable, seconds: float) -> tuple[Story, ...]:
    from behaviour.draw.stories import stories_of

    return stories_of(_findings(readable, seconds))


def _stories_in(readable: Readable, name: str) -> tuple[Story, ...]:
    from behaviour.draw.stories import Story
    from behaviour.rehearse.told import StoryFormError, read_stories, run_of

    try:
        return tuple(
            Story(number, told.name, told.name, run_of(readable.model, told), "here")
            for number, told in enumerate(read_stories(read_text(name)), start=1)
        )
    except StoryFormError as problem:
        raise CommandError(f"`{name}` cannot be drawn: {problem}") from problem
