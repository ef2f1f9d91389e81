"""Where in a behaviour file a value stands that the bench has otherwise, and what to write there.

It looks at the text of the file alone. What it does not find for sure it names by its line.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from behaviour.model import NamedSetting
from behaviour.units import read_time
from codegen.read_back import Differs

TIME = re.compile(r"(?<![\w.])\d+(?:\.\d+)? *(?:ms|s|min|h)\b")


@dataclass(frozen=True, slots=True)
class Rewrite:
    """A line of the file, what stands there, and what takes its place; `old` is empty if nothing
    that says it was found there.
    """

    line: int
    what: str
    old: str
    new: str

    def __str__(self) -> str:
        change = f"`{self.old}` becomes `{self.new}`" if self.old else f"write `{self.new}`"
        return f"{self.what}: {change}"


def rewrites(
    text: str, named: Iterable[NamedSetting], differs: Iterable[Differs]
) -> tuple[Rewrite, ...]:
    """Say what to change in a file so that it has what the bench has, without a word twice."""
    lines, settings = text.splitlines(), tuple(named)
    found = (_rewrite(lines, settings, each) for each in differs if each.file is not None)
    return tuple(dict.fromkeys(found))


def _rewrite(lines: list[str], named: tuple[NamedSetting, ...], each: Differs) -> Rewrite:
    key, of, _ = each.what.partition(" of ")
    if not each.line or each.line > len(lines):
        return _of_key(lines, 1, len(lines), each.what, each) or _unknown(each)
    if of and not each.name.endswith("_MS"):
        end = _end_of_item(lines, each.line)
        key = key.split()[-1]
        return _of_key(lines, each.line, end, key, each) or _unknown(each, f"{key}: ")
    return _of_time(lines, named, each) or _unknown(each)


def _of_key(lines: list[str], first: int, end: int, key: str, each: Differs) -> Rewrite | None:
    """Find `key: value` in some lines."""
    for number in range(first, end + 1):
        found = re.search(rf"(?<!\w){re.escape(key)}:\s+([^\s,{{}}#][^,{{}}#]*)", lines[number - 1])
        if found:
            return Rewrite(number, each.what, f"{key}: {found[1].strip()}", f"{key}: {each.bench}")
    return None


def _of_time(lines: list[str], named: tuple[NamedSetting, ...], each: Differs) -> Rewrite | None:
    """Find the one time of a line that is what the file has, or the setting that is named there."""
    line, wanted = lines[each.line - 1], read_time(each.file or "")
    times = [time for time in TIME.findall(line) if read_time(time) == wanted]
    names = [
        setting
        for setting in named
        if re.search(rf"\b{setting.name}\b", line) and read_time(setting.text) == wanted
    ]
    if len(names) == 1 and not times:
        (name,) = names
        more = f", named at {name.uses} places" if name.uses > 1 else ""
        old = f"{name.name}: {name.text}"
        return Rewrite(name.span.line, f"{each.what}{more}", old, f"{name.name}: {each.bench}")
    if times and not names:
        return Rewrite(each.line, each.what, times[0], each.bench)
    return None


def _unknown(each: Differs, key: str = "") -> Rewrite:
    return Rewrite(each.line, each.what, "", f"{key}{each.bench}")


def _end_of_item(lines: list[str], first: int) -> int:
    """Give the last line of what begins in a line: those after it that stand further in."""
    begins = _indent(lines[first - 1])
    end = first
    for number, line in _after(lines, first):
        if line.strip() and _indent(line) <= begins:
            break
        end = number
    return end


def _after(lines: list[str], first: int) -> Iterator[tuple[int, str]]:
    return enumerate(lines[first:], first + 1)


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip())
