"""Writes how a board file reads an input from its pins."""

from codegen.cwriter import CONTINUED, WIDTH, CWriter
from codegen.wired import Contact, Counts, Positions, ReadCall, Yours


def read(out: CWriter, item: ReadCall) -> None:
    """Write the call that reads an input."""
    match item.how:
        case Contact():
            _contact(out, item, item.how)
        case Positions():
            _positions(out, item, item.how)
        case Counts():
            _counts(out, item, item.how)
        case Yours(why=why):
            _yours(out, item, why)


def _contact(out: CWriter, item: ReadCall, how: Contact) -> None:
    if how.news:
        out.comment(how.news)
    with out.function(f"{item.type} {item.call}(void)"):
        _the_other(out, item.type, how)
        out.line()
        out.statement(f"return (digitalRead({how.pin}) == LOW) ? {how.low} : high;")


def _the_other(out: CWriter, kind: str, how: Contact) -> None:
    """Write which value reads high: the one that does not read low."""
    one, other = how.values
    test = f"({how.low} == {one})"
    if len(test) <= WIDTH - out.depth - CONTINUED:
        out.statement(f"const {kind} high = {test} ? {other} : {one};")
    else:
        lines = [f"({how.low}", f"        == {one})", f"? {other}", f": {one};"]
        out.continued([f"const {kind} high =", *lines], "")


def _positions(out: CWriter, item: ReadCall, how: Positions) -> None:
    level = "LOW" if how.reads_low else "HIGH"
    if how.otherwise is None:
        out.comment("Between two positions no pin is chosen: the last one counts on.")
    with out.function(f"{item.type} {item.call}(void)"):
        if how.otherwise is None:
            out.statement(f"static {item.type} chosen = {how.begins};")
        else:
            out.statement(f"{item.type} chosen = {how.otherwise};")
        out.line()
        lead = ""
        for value, pin in how.pins:
            out.open_if([f"digitalRead({pin}) == {level}"], lead)
            with out.indented():
                out.line(f"chosen = {value};")
            lead = "} else "
        out.line("} else {")
        with out.indented():
            out.comment("None of them: it is what it was." if how.otherwise is None else "None.")
        out.line("}")
        out.line("return chosen;")


def _counts(out: CWriter, item: ReadCall, how: Counts) -> None:
    out.comment("Between the two levels the last value counts on.")
    with out.function(f"{item.type} {item.call}(void)"):
        out.statement(f"static {item.type} last = {how.begins};")
        out.statement(f"const unsigned int count = (unsigned int)analogRead({how.pin});")
        out.line()
        (low, below), (high, above) = how.below, how.above
        out.open_if([f"count < {low}"])
        with out.indented():
            out.line(f"last = {below};")
        out.open_if([f"count > {high}"], "} else ")
        with out.indented():
            out.line(f"last = {above};")
        out.line("} else {")
        with out.indented():
            out.comment("Between them.")
        out.line("}")
        out.line("return last;")


def _yours(out: CWriter, item: ReadCall, why: str) -> None:
    out.comment(f"Yours to write, for {why}.")
    with out.function(f"{item.type} {item.call}(void)"):
        out.statement(f"return {item.presumed};")
