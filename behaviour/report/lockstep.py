"""How the C was held against the definition: text for people, a plain object for programs."""

from collections.abc import Iterator

from behaviour.fingerprint import fingerprint
from behaviour.model import Model
from codegen.conform.arduino import Sizes, Target
from codegen.conform.coverage import Row
from codegen.conform.match import LockstepReport
from codegen.conform.uno import UnoReport

FORMAT = 1

JsonObject = dict[str, object]


def lockstep_text(name: str, report: LockstepReport) -> str:
    """Give the verdict, the runs by what they do, and the table of what they went through."""
    return "".join(f"{line}\n" for line in _lines(name, report))


def lockstep_object(name: str, model: Model, report: LockstepReport) -> JsonObject:
    """Give the same as one plain object; it changes only with `FORMAT`."""
    told: JsonObject = {
        "format": FORMAT,
        "file": name,
        "prop": model.prop,
        "fingerprint": fingerprint(model),
        "verdict": "alike" if report.is_alike else "differs",
        "compiler": report.compiler,
        "sanitized": report.sanitized,
        "runs": [{"what": what, "runs": count} for count, what in report.families],
        "loops": report.calls,
        "through": [_row_object(row) for row in report.coverage.rows],
        "search_complete": not report.open,
    }
    if report.mismatch is not None:
        told["differs"] = {
            "run": report.mismatch.run,
            "call": report.mismatch.call,
            "at_ms": report.mismatch.now_ms,
            "what": report.mismatch.what,
            "firmware": report.mismatch.firmware,
            "definition": report.mismatch.definition,
        }
    return told


def _row_object(row: Row) -> JsonObject:
    return {
        "name": row.name,
        "met": row.met,
        "of": row.total,
        "wanting": list(row.wanting),
        "can_never_be": list(row.impossible),
    }


def _lines(name: str, report: LockstepReport) -> Iterator[str]:
    if report.mismatch is not None:
        yield f"differs  {name}: {report.mismatch}"
        return
    yield (f"alike  {name}: {report.runs} runs of {report.calls:,} loops in all, {report.how}")
    for count, what in report.families:
        yield f"   {count:>5} {what}"
    yield ""
    rows = report.coverage.rows
    width = max(len(row.name) for row in rows)
    for row in rows:
        yield f"   {row.name:<{width}}  {row.met:>4} of {row.total}"
    why = (
        "not in these runs; whether it can be is not decided"
        if report.open
        else "not in these runs"
    )
    for row in rows:
        for words in row.wanting:
            yield f"   wanting: {words}: {why}"
    for row in rows:
        for words in row.impossible:
            yield f"   can never be: {words}: whatever the inputs do (`never-taken`)"


def uno_text(name: str, report: UnoReport) -> str:
    """Give how it went on a simulated Uno, and what was not looked at there."""
    if report.mismatch is not None:
        return f"differs  {name}: {report.mismatch}\n"
    lines = [
        (
            f"alike  {name}: {report.runs} of {report.offered} runs, {report.loops:,} loops, "
            f"{report.simulated_ms / 1000:g} s on a simulated Uno, at its pins and in its trace"
        ),
        (
            f"   {report.size.flash:,} bytes of flash and {report.size.ram} of memory, with core "
            "and trace"
        ),
        f"   the longest loop took {report.longest_microseconds:.0f} us without the trace",
    ]
    if report.not_looked_at:
        names = ", ".join(f"`{each}`" for each in report.not_looked_at)
        lines.append(f"   only in the trace, not at the pins: {names}")
    return "".join(f"{line}\n" for line in lines)


def sizes_text(controller: str, target: Target, sizes: Sizes) -> str:
    """Give what firmware takes of its chip, all of it and its behaviour alone."""
    whole, alone = sizes.whole, sizes.behaviour
    return (
        f"built for `{controller}`: {whole.flash:,} of {target.flash:,} bytes of flash and "
        f"{whole.ram:,} of {target.ram:,} of memory, with core, board and trace\n"
        f"   of which the behaviour takes {alone.flash:,} and {alone.ram:,}\n"
    )
