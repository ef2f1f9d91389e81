"""Reads which findings a faulty demo prop must give, from the comments at the head of its file.

It knows the names of the findings, and nothing of how a file is read or checked.
"""

import re
from dataclasses import dataclass

from behaviour.findings import KIND

MARK = "# must find:"
FORM = '# must find: NAME [in REGION.STATE] [rule "RULE NAME"]'

_EXPECTED = re.compile(
    r"# must find: (?P<name>[a-z-]+)"
    r"(?: in (?P<region>[A-Za-z]\w*)\.(?P<state>[A-Za-z]\w*))?"
    r'(?: rule "(?P<rule>[^"]+)")?'
)


class ExpectationError(ValueError):
    """A `# must find:` line that cannot be meant as it stands."""


@dataclass(frozen=True, slots=True)
class Expected:
    """One finding that a file must give. What is None may be anything."""

    name: str
    place: tuple[str, str] | None = None
    """The region and the state that the finding is about."""
    rule: str | None = None

    def is_met_by(self, name: str, place: tuple[str, str] | None, rule: str | None) -> bool:
        """Tell whether a finding with this name, place and rule is the one that is expected."""
        return self.name == name and self.place in (None, place) and self.rule in (None, rule)


def read_expectations(text: str) -> tuple[Expected, ...]:
    """Read the `# must find:` lines at the head of a behaviour file, in their order.

    The head ends at the first line that is no comment. Raises ExpectationError for a mark further
    down, a line of another form, a finding that does not exist, and one that is written twice.
    """
    lines = text.splitlines()
    head_ends = next(
        (number for number, line in enumerate(lines) if not line.startswith("#")), len(lines)
    )
    found: list[Expected] = []
    for number, line in enumerate(lines, start=1):
        if "must find" not in line:
            continue
        if number > head_ends:
            raise ExpectationError(f"line {number}: `{MARK}` stands below the head of the file")
        expected = _read_line(number, line)
        if expected in found:
            raise ExpectationError(f"line {number}: this finding is expected already")
        found.append(expected)
    return tuple(found)


def _read_line(number: int, line: str) -> Expected:
    match = _EXPECTED.fullmatch(line.rstrip())
    if match is None:
        raise ExpectationError(f"line {number}: write `{FORM}`")
    if match["name"] not in KIND:
        raise ExpectationError(f"line {number}: there is no finding `{match['name']}`")
    place = (match["region"], match["state"]) if match["region"] else None
    return Expected(match["name"], place, match["rule"])
