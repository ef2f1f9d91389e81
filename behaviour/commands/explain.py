"""`explain`: what a finding means."""

from __future__ import annotations

from behaviour.commands.answering import OK, CommandError, put_out
from behaviour.commands.arguments import Arguments, Parser


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    parser = Parser("tablework explain", description="Explain a finding; without a name, list all.")
    parser.add_argument("name", metavar="FINDING", nargs="?", help="such as `dead-end`")
    asked = parser.parse_args(arguments)
    return explain(asked.name)


def explain(name: str | None) -> int:
    """Print what a finding means; without a name, list the names with a line each."""
    from behaviour.findings import KIND, KINDS, NOT_CHECKED_YET

    if name is None:
        width = max(len(kind.name) for kind in KINDS)
        lines = [
            f"{kind.name:<{width}}  {kind.severity.value:<8}  {kind.summary}" for kind in KINDS
        ]
        put_out("\n".join(lines) + "\n")
        return OK
    if name in NOT_CHECKED_YET:
        raise CommandError(f"`{name}` is not checked yet, so there is nothing to explain")
    if name not in KIND:
        from behaviour.suggest import nearest

        near = nearest(name, KIND, most=1)
        hint = f"there is `{near[0]}`" if near else "`tablework explain` lists them all"
        raise CommandError(f"there is no finding `{name}`: {hint}")
    from importlib.resources import files

    put_out(files("behaviour.explanations").joinpath(f"{name}.md").read_text(encoding="utf-8"))
    return OK
