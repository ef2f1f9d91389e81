"""Makes mutants of an emitted NAME.c: each the same text with one small thing wrong in it.

Strategy: the text is cut into its functions, which the emitter ends with a brace in column 0. A
rule looks at one function, its comments blanked, and says what to put where. All mutants of a
prop go into one program, which has each changed function beside the right one and is told by its
environment whose turn it is: so they are compiled once.
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

FUNCTION = re.compile(r"^(?:[a-z][^;#{}/]*\))\n\{\n.*?^\}\n", re.MULTILINE | re.DOTALL)
COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
TURN = "TABLEWORK_MUTANT"
"""The variable of the environment that says which mutant runs; 0 is the text as it was emitted."""

NEGATED = {"==": "!=", "!=": "==", ">=": "<", ">": "<=", "<": ">=", "<=": ">"}
BESIDE = {">=": ">", ">": ">=", "<": "<=", "<=": "<"}
OTHER = {"&&": "||", "||": "&&", "+": "-", "-": "+", "true": "false", "false": "true"}


@dataclass(frozen=True, slots=True)
class Change:
    """What a rule puts in the place of part of a function."""

    start: int
    end: int
    new: str


@dataclass(frozen=True, slots=True)
class Mutant:
    """One function with one thing wrong; `name` says where and what."""

    name: str
    rule: str
    function: str
    text: str


Rule = Callable[[str, dict[str, str]], Iterator[Change]]
"""Gives the changes of a function without comments; it knows for each enumerator the next one."""


def mutants_of(source: str, header: str) -> list[Mutant]:
    """List every mutant that the rules make, in the order of rules and of the text."""
    following = _following(header)
    found: list[Mutant] = []
    names: dict[str, int] = {}
    for rule_name, rule in RULES.items():
        for function in FUNCTION.finditer(source):
            text = function[0]
            name = name_of(text)
            for change in rule(_blanked(text), following):
                said = f"{name}{_case_at(text, change.start)}: {rule_name}: {_short(text, change)}"
                names[said] = names.get(said, 0) + 1
                said += f" ({names[said]})" if names[said] > 1 else ""
                changed = text[: change.start] + change.new + text[change.end :]
                found.append(Mutant(said, rule_name, name, changed))
    return found


def program_text(source: str, mutants: list[Mutant]) -> str:
    """Give one source that behaves as the mutant whose number, from 1 on, is in the environment."""

    def with_mutants(function: re.Match[str]) -> str:
        text = function[0]
        name = name_of(text)
        mine = [(turn, each) for turn, each in enumerate(mutants, 1) if each.function == name]
        if not mine:
            return text
        texts = {0: text} | {turn: each.text for turn, each in mine}
        copies = [
            f"#define {name} {name}_{turn}\n{'static ' * (not each.startswith('static'))}{each}"
            f"#undef {name}\n"
            for turn, each in texts.items()
        ]
        return "".join(copies) + _whose_turn(text, name, list(texts))

    begin, end = "__attribute__((constructor))", f'turn = atoi(getenv("{TURN}"));'
    chooser = (
        f"#include <stdlib.h>\nstatic int turn;\n{begin} static void choose(void) {{ {end} }}\n"
    )
    return chooser + FUNCTION.sub(with_mutants, source)


def name_of(function: str) -> str:
    """Give the name of a function."""
    found = re.search(r"(\w+)\(", function)
    assert found is not None
    return found[1]


def _whose_turn(text: str, name: str, turns: list[int]) -> str:
    """Write a function of the same name that calls the one whose turn it is."""
    head = text[: text.index("\n{")]
    parameters = head[head.index("(") + 1 : head.rindex(")")]
    given = ", ".join(re.findall(r"(\w+)\s*(?:,|$)", parameters)) if parameters != "void" else ""
    cases = "".join(f"case {turn}: return {name}_{turn}({given});\n" for turn in turns[1:])
    return f"{head}\n{{\nswitch (turn) {{\n{cases}default: return {name}_0({given});\n}}\n}}\n"


def _following(header: str) -> dict[str, str]:
    """Map each enumerator to the one after it, and the last of an enum to its first."""
    found: dict[str, str] = {}
    for body in re.findall(r"^enum \w+ \{(.*?)^\};", _blanked(header), re.MULTILINE | re.DOTALL):
        names = re.findall(r"^ +(\w+)", body, re.MULTILINE)
        found |= dict(zip(names, [*names[1:], names[0]], strict=True))
    return found


def _blanked(text: str) -> str:
    """Put spaces for every comment, so that places stay what they are."""
    return COMMENT.sub(lambda found: re.sub(r"[^\n]", " ", found[0]), text)


def _case_at(text: str, place: int) -> str:
    """Say which case of a switch stands at a place, if any does."""
    labels = re.findall(r"\b(?:case \w+|default):", text[:place])
    return f", {labels[-1].removesuffix(':')}" if labels else ""


def _short(text: str, change: Change) -> str:
    """Say what was there, in one line of a fair length; of a sign, the line that it is in."""
    start, end = change.start, change.end
    if not re.search(r"\w\w|;", text[start:end]):
        start, end = text.rindex("\n", 0, start), text.index("\n", end)
    words = " ".join(COMMENT.sub(" ", text[start:end]).split())
    return words if len(words) <= 90 else f"{words[:60]} ... {words[-25:]}"


# --- The rules -----------------------------------------------------------------------------------


def _everywhere(pattern: str, new: Callable[[re.Match[str]], str | None]) -> Rule:
    """Make a rule that replaces what a pattern finds, unless there is nothing to put there."""

    def rule(code: str, _: dict[str, str]) -> Iterator[Change]:
        for found in re.finditer(pattern, code):
            put = new(found)
            if put is not None:
                yield Change(found.start(), found.end(), put)

    return rule


def _other_enumerator(code: str, following: dict[str, str]) -> Iterator[Change]:
    for found in re.finditer(r"(?<!case )\b[A-Z]\w+\b", code):
        if following.get(found[0], found[0]) != found[0]:
            yield Change(found.start(), found.end(), following[found[0]])


def _left_out_statement(code: str, _: dict[str, str]) -> Iterator[Change]:
    """Leave out a call or what is given to a member."""
    for found in re.finditer(r"(?<=[;{}:])\s+((?:prop->|seen|\(void\)|\w+\()[^;{}:]*;)", code):
        if found[1] != "(void)prop;":
            yield Change(found.start(1), found.end(1), ";")


def _condition(sure: str) -> Rule:
    """Make a rule that has each part of a condition always, or never, true."""

    def rule(code: str, _: dict[str, str]) -> Iterator[Change]:
        for found in re.finditer(r"\bif \(", code):
            start, end = found.end(), _closing(code, found.end() - 1)
            for part_start, part_end in _parts(code, start, end):
                yield Change(part_start, part_end, sure)

    return rule


def _swapped(code: str, _: dict[str, str]) -> Iterator[Change]:
    """Look at a transition before the one that is written before it."""
    for found in re.finditer(r"\bif \(", code):
        middle = _closing(code, _opening(code, _closing(code, found.end() - 1)))
        if not code.startswith(" else if (", middle + 1):
            continue
        second = middle + len(" else if ")
        end = _closing(code, _opening(code, _closing(code, second + 1)))
        first_words = code[found.end() - 1 : middle + 1]
        put = f"if {code[second + 1 : end + 1]} else if {first_words}"
        yield Change(found.start(), end + 1, put)


def _parts(code: str, start: int, end: int) -> Iterator[tuple[int, int]]:
    """Give where the parts of a condition stand that `&&` and `||` join at the outermost."""
    depth, begun = 0, start
    for at in range(start, end):
        depth += (code[at] == "(") - (code[at] == ")")
        if depth == 0 and code[at : at + 2] in ("&&", "||"):
            yield begun, at - 1
            begun = at + 3
    yield begun, end


def _opening(code: str, at: int) -> int:
    return code.index("{", at)


def _closing(code: str, at: int) -> int:
    """Give the place of the bracket that closes the one at a place."""
    opens, closes = code[at], {"(": ")", "{": "}"}[code[at]]
    depth = 0
    for place in range(at, len(code)):
        depth += (code[place] == opens) - (code[place] == closes)
        if depth == 0:
            return place
    raise ValueError("a bracket is not closed")


COMPARES = r"(?<= )(==|!=|>=|<=|>|<)(?= )"
WAIT = r"LOOPS\(\w+\)"

RULES: dict[str, Rule] = {
    "compared the other way": _everywhere(COMPARES, lambda found: NEGATED[found[1]]),
    "compared one beside": _everywhere(COMPARES, lambda found: BESIDE.get(found[1])),
    "and for or": _everywhere(r"&&|\|\|", lambda found: OTHER[found[0]]),
    "not left out": _everywhere(r"!(?=[\w(])", lambda _: ""),
    "always": _condition("true"),
    "never": _condition("false"),
    "left out": _left_out_statement,
    "goes on into the next case": _everywhere(r"\bbreak;", lambda _: ";"),
    "no such case": _everywhere(r"\bcase \w+:", lambda _: ";"),
    "waits a loop longer": _everywhere(WAIT, lambda found: f"({found[0]} + 1u)"),
    "waits a loop less": _everywhere(WAIT, lambda found: f"({found[0]} - 1u)"),
    "another value": _other_enumerator,
    "transitions swapped": _swapped,
    "one more": _everywhere(
        r"(?<![\w.])(\d+)(u?)\b", lambda found: f"{int(found[1]) + 1}{found[2]}"
    ),
    "plus for minus": _everywhere(r"(?<= )[+-](?= )", lambda found: OTHER[found[0]]),
    "the other truth": _everywhere(r"\b(true|false)\b", lambda found: OTHER[found[0]]),
}
"""What can go wrong, each once at every place where it can."""
