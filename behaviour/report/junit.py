"""A check as JUnit's XML, in the form that pytest writes and build servers read.

A file is a suite; each rule and each check is a case of it. What is broken fails with its findings
as text, what is not decided is an error; what is excused or doubtful passes with its words kept.
"""

from collections.abc import Iterable, Sequence
from xml.etree import ElementTree as ET

from behaviour.findings import Answer, Finding, Severity, Verdict
from behaviour.report.text import finding_text, mistakes_text
from behaviour.results import Checked, Unreadable


def junit_text(results: Iterable[Checked | Unreadable]) -> str:
    """Write all files that were read as one document."""
    root = ET.Element("testsuites", name="tablework")
    for result in results:
        match result:
            case Checked():
                root.append(_checked(result))
            case Unreadable():
                root.append(_unreadable(result))
    ET.indent(root)
    return ET.tostring(root, encoding="unicode", xml_declaration=True) + "\n"


def _checked(checked: Checked) -> ET.Element:
    outcome = checked.outcome
    cases = [_case(checked, "rule", each, _of_rule(checked, each)) for each in outcome.rules]
    cases += [_case(checked, "check", each, _of_check(checked, each)) for each in outcome.checks]
    return _suite(checked.source.name, cases, outcome.explored.seconds)


def _of_rule(checked: Checked, rule: Verdict) -> list[Finding]:
    return [each for each in checked.outcome.findings if each.rule == rule.name]


def _of_check(checked: Checked, check: Verdict) -> list[Finding]:
    """List the findings of a check, and those whose story is also one of it."""
    found = checked.outcome.findings
    return [
        each
        for each in found
        if check.name in each.also or (each.rule is None and each.kind.name == check.name)
    ]


def _case(checked: Checked, sort: str, verdict: Verdict, findings: Sequence[Finding]) -> ET.Element:
    case = ET.Element(
        "testcase", classname=f"{checked.source.name}.{sort}", name=verdict.name, time="0.000"
    )
    told = [finding_text(checked.source, checked.model, each) for each in findings]
    is_broken = any(each.severity is Severity.BROKEN for each in findings)
    if verdict.answer is Answer.NOT_DECIDED:
        words = f"not decided: {verdict.why}"
        ET.SubElement(case, "error", message=_plain(words)).text = _plain("\n".join(told))
    elif is_broken or (sort == "rule" and verdict.answer is Answer.BROKEN):
        message = next((each.message for each in findings), verdict.name)
        ET.SubElement(case, "failure", message=_plain(message)).text = _plain("\n".join(told))
    elif told:
        ET.SubElement(case, "system-out").text = _plain("\n".join(told))
    return case


def _unreadable(result: Unreadable) -> ET.Element:
    name = result.source.name
    case = ET.Element("testcase", classname=f"{name}.file", name="can be read", time="0.000")
    told = mistakes_text(result.source, result.mistakes)
    message = result.mistakes[0].message if result.mistakes else "it cannot be read"
    ET.SubElement(case, "error", message=_plain(message)).text = _plain(told)
    return _suite(name, [case], 0.0)


def _suite(name: str, cases: Sequence[ET.Element], seconds: float) -> ET.Element:
    suite = ET.Element(
        "testsuite",
        name=name,
        tests=str(len(cases)),
        errors=str(sum(case.find("error") is not None for case in cases)),
        failures=str(sum(case.find("failure") is not None for case in cases)),
        skipped="0",
        time=f"{seconds:.3f}",
    )
    suite.extend(cases)
    return suite


def _plain(words: str) -> str:
    """Leave out what XML 1.0 has no sign for."""
    return "".join(sign for sign in words if sign in "\t\n\r" or sign >= " ")
