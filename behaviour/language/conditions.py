"""Reads conditions, actions and steps into what was written, before any name is looked up.

It knows nothing of which names there are, nor of where a condition stands.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import cast

from lark import Token, Tree

from behaviour import model
from behaviour.language import syntax
from behaviour.language.fields import scalar_at
from behaviour.language.grammar import Line, Start, parse, stretch
from behaviour.language.nodes import Node
from behaviour.language.phrases import listed
from behaviour.language.reading import Reading
from behaviour.units import shortened

SIGNS = ("=", "!=", "<", "<=", ">", ">=")

_MEANT = {"==": "=", "=<": "<=", "=>": ">=", "<>": "!=", "=!": "!=", "!": "!="}


def read_condition(reading: Reading, node: Node, says: str) -> syntax.Condition | None:
    """Read a condition; `says` names the key at which it stands."""
    parsed = _parsed(reading, node, says, "condition")
    return None if parsed is None else _condition(parsed.line, parsed.tree)


def read_action(reading: Reading, node: Node) -> syntax.Action | None:
    """Read one of the actions of `do`."""
    parsed = _parsed(reading, node, "`do`", "action")
    if parsed is None:
        return None
    line, tree = parsed.line, parsed.tree
    words = [line.word(token) for token in _tokens(tree)]
    span = line.span_of(tree)
    match tree.data:
        case "add":
            return syntax.AddTo(counter=words[3], amount=words[1], sign=1, span=span)
        case "take":
            return syntax.AddTo(counter=words[3], amount=words[1], sign=-1, span=span)
        case _:
            return syntax.SetTo(counter=words[1], value=words[3], span=span)


def read_step(reading: Reading, node: Node) -> syntax.Step | None:
    """Read one step of a walkthrough."""
    parsed = _parsed(reading, node, "a step", "step")
    if parsed is None:
        return None
    line, tree = parsed.line, parsed.tree
    span = line.span_of(tree)
    parts = tree.children
    match tree.data:
        case "press":
            return syntax.Press(button=line.word(parts[1]), value="pressed", span=span)
        case "release":
            return syntax.Press(button=line.word(parts[1]), value="released", span=span)
        case "pause":
            return syntax.Pause(time=line.word(parts[1]), span=span)
        case "restart":
            return syntax.Restart(span=span)
        case "change":
            return syntax.Change(input=line.word(parts[0]), value=line.word(parts[2]), span=span)
        case _:
            condition = _condition(line, cast("Tree[Token]", parts[1]))
            within = line.word(parts[-1]) if parts[2:] else None
            if condition is None:
                return None
            return syntax.See(condition=condition, within=within, span=span)


@dataclass(frozen=True, slots=True)
class _Parsed:
    line: Line
    tree: Tree[Token]


def _parsed(reading: Reading, node: Node, says: str, start: Start) -> _Parsed | None:
    wants = "one text" if start == "step" else f"{'an' if start == 'action' else 'a'} {start}"
    scalar = scalar_at(reading, node, says, wants)
    if scalar is None:
        return None
    line = Line(reading, scalar)
    tree = parse(line, start)
    return None if tree is None else _Parsed(line, tree)


# --- Chains of `and` and `or` -------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Link:
    """One part of a chain and where it stands in the text; None where it was refused."""

    part: syntax.Condition | None
    start: int
    end: int


def _condition(line: Line, tree: Tree[Token]) -> syntax.Condition | None:
    parts = tree.children[::2]
    joints = [str(joint) for joint in tree.children[1::2]]
    links: list[_Link] = []
    kept: list[str] = []
    at = 0
    while at < len(parts):
        part = cast("Tree[Token]", parts[at])
        following = _bare_after(parts, joints, at) if part.data == "is_either" else []
        if at:
            kept.append(joints[at - 1])
        start, end = stretch(part)
        end = stretch(following[-1])[1] if following else end
        before = cast("Tree[Token]", parts[at - 1]) if at else None
        links.append(_Link(_part(line, part, following, before), start, end))
        at += 1 + len(following)
    return _joined(line, links, kept)


def _bare_after(parts: list[Tree[Token] | Token], joints: list[str], at: int) -> list[Tree[Token]]:
    """Take the further names that `or` joins to an `either`."""
    found = []
    for joint, part in zip(joints[at:], parts[at + 1 :], strict=True):
        if joint != "or" or not isinstance(part, Tree) or part.data != "bare":
            break
        found.append(part)
    return found


def _joined(line: Line, links: list[_Link], joints: list[str]) -> syntax.Condition | None:
    if len(set(joints)) > 1:
        _report_mixture(line, links, joints)
        return None
    parts = tuple(link.part for link in links if link.part is not None)
    if len(parts) < len(links):
        return None
    if len(parts) == 1:
        return parts[0]
    span = line.span(links[0].start, links[-1].end)
    if joints[0] == "and":
        return syntax.And(parts=parts, span=span)
    return syntax.Or(parts=parts, span=span)


def _report_mixture(line: Line, links: list[_Link], joints: list[str]) -> None:
    texts = [" ".join(line.text[link.start : link.end].split()) for link in links]
    one, other = _bracketed(texts, joints, "and"), _bracketed(texts, joints, "or")
    line.add(
        links[0].start,
        links[-1].end,
        "`and` and `or` stand side by side without brackets",
        label="can be read in two ways",
        hint=f"write `{one}` or `{other}`",
    )


def _bracketed(texts: list[str], joints: list[str], tight: str) -> str:
    """Write a chain with brackets round what `tight` joins."""
    groups = [[texts[0]]]
    for text, joint in zip(texts[1:], joints, strict=True):
        if joint == tight:
            groups[-1].append(text)
        else:
            groups.append([text])
    loose = "or" if tight == "and" else "and"
    return f" {loose} ".join(
        f"({f' {tight} '.join(group)})" if len(group) > 1 else group[0] for group in groups
    )


# --- One part -----------------------------------------------------------------------------------


def _part(
    line: Line, tree: Tree[Token], following: list[Tree[Token]], before: Tree[Token] | None
) -> syntax.Condition | None:
    match tree.data:
        case "is_either":
            return _either(line, tree, following)
        case "bare":
            _refuse_bare(line, tree, before)
            return None
        case "bracket":
            return _condition(line, cast("Tree[Token]", tree.children[1]))
        case "negation":
            inner = _part(line, cast("Tree[Token]", tree.children[1]), [], None)
            return None if inner is None else syntax.Not(part=inner, span=line.span_of(tree))
        case name:
            return _PARTS[str(name)](line, tree)


def _either(line: Line, tree: Tree[Token], following: list[Tree[Token]]) -> syntax.Condition | None:
    name, value = line.word(tree.children[0]), line.word(tree.children[-1])
    if not following:
        line.add(
            *stretch(tree),
            "`either` names one value only",
            label="needs a second",
            hint=f"write `{name.text} is {value.text}`, or `... or` and another value",
        )
        return None
    start, _ = stretch(tree)
    _, end = stretch(following[-1])
    values = (value, *(line.word(part) for part in following))
    return syntax.Is(name=name, values=values, negated=False, span=line.span(start, end))


def _refuse_bare(line: Line, tree: Tree[Token], before: Tree[Token] | None) -> None:
    start, end = stretch(tree)
    name = line.text[start:end]
    hint = f"say what of it: `{name} is VALUE`, `{name} becomes VALUE`, or `{name} in STATE`"
    if before is not None and before.data in ("is_value", "is_not"):
        first, value = line.word(before.children[0]).text, line.word(before.children[-1]).text
        words = f"either {value} or" if before.data == "is_value" else f"neither {value} nor"
        hint = f"write `{first} is {words} {name}`"
    message = f"`{shortened(name)}` alone is not a condition"
    line.add(start, end, message, label="not a condition", hint=hint)


def _is_value(line: Line, tree: Tree[Token]) -> syntax.Condition:
    name, _, value = (line.word(token) for token in _tokens(tree))
    return syntax.Is(name=name, values=(value,), negated=False, span=line.span_of(tree))


def _is_not(line: Line, tree: Tree[Token]) -> syntax.Condition:
    name, _, _, value = (line.word(token) for token in _tokens(tree))
    return syntax.Is(name=name, values=(value,), negated=True, span=line.span_of(tree))


def _is_neither(line: Line, tree: Tree[Token]) -> syntax.Condition:
    tokens = _tokens(tree)
    values = tuple(line.word(token) for token in tokens[3::2])
    return syntax.Is(
        name=line.word(tokens[0]), values=values, negated=True, span=line.span_of(tree)
    )


def _becomes(line: Line, tree: Tree[Token]) -> syntax.Condition:
    name, _, value = (line.word(token) for token in _tokens(tree))
    return syntax.Becomes(name=name, value=value, span=line.span_of(tree))


def _held(line: Line, tree: Tree[Token]) -> syntax.Condition:
    name, _, value, _, time = (line.word(part) for part in tree.children)
    return syntax.HeldFor(name=name, value=value, time=time, span=line.span_of(tree))


def _refuse_held_not(line: Line, tree: Tree[Token]) -> None:
    name, time = line.word(tree.children[0]).text, line.word(tree.children[-1]).text
    line.add(
        *stretch(tree),
        "`for` does not go with `is not`",
        label="name the value that lasts",
        hint=f"write `{name} is VALUE for {time}`",
    )


def _compare(line: Line, tree: Tree[Token]) -> syntax.Condition | None:
    name, sign, number = (line.word(token) for token in _tokens(tree))
    for known in SIGNS:
        if sign.text == known:
            exact = cast("model.Comparison", known)
            return syntax.Compare(name=name, sign=exact, number=number, span=line.span_of(tree))
    meant = _MEANT.get(sign.text)
    hint = f"write `{meant}`" if meant else f"the signs are {listed(SIGNS, 'and')}"
    words = {"=": "is", "!=": "is not"}.get(meant or "")
    if words and not number.text[:1].isdigit():
        hint = f"write `{name.text} {words} {number.text}`, or `{meant}` where a number is counted"
    message = f"`{sign.text}` is not a sign of comparison"
    line.reading.mistakes.add(sign.span, message, label="not known here", hint=hint)
    return None


def _inside(line: Line, tree: Tree[Token]) -> syntax.Condition:
    region, state = line.word(tree.children[0]), line.word(tree.children[-1])
    negated = tree.data == "outside"
    return syntax.InState(region=region, state=state, negated=negated, span=line.span_of(tree))


def _done(line: Line, tree: Tree[Token]) -> syntax.Condition:
    name, *words, last = (line.word(token) for token in _tokens(tree))
    return syntax.Done(
        name=name, moves=last.text == "moving", negated=len(words) > 1, span=line.span_of(tree)
    )


_PARTS: dict[str, Callable[[Line, Tree[Token]], syntax.Condition | None]] = {
    "is_value": _is_value,
    "is_not": _is_not,
    "is_neither": _is_neither,
    "becomes": _becomes,
    "held": _held,
    "held_not": _refuse_held_not,
    "compare": _compare,
    "inside": _inside,
    "outside": _inside,
    "done": _done,
}


def _tokens(tree: Tree[Token]) -> list[Token]:
    return [child for child in tree.children if isinstance(child, Token)]
