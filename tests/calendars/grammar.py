"""RFC 5545 by hand: content lines, and what RFC 5545, 5546 and 7986 want of a published calendar.

Written from the grammar of RFC 5545 3.1 (contentline, param, value) without the library that writes
the calendars, so that the two can disagree.
"""

import re
from dataclasses import dataclass, field

# iana-token / x-name, RFC 5545 3.1
NAME = r"[A-Za-z0-9-]+"
PARAM = rf"{NAME}=(?:\"[^\x00-\x08\x0a-\x1f\x7f\"]*\"|[^\x00-\x08\x0a-\x1f\x7f\";:,]*)"
LINE = re.compile(
    rf"(?P<name>{NAME})(?P<params>(?:;{PARAM}(?:,[^\";:,]*)*)*):(?P<value>[^\x00-\x08\x0a-\x1f\x7f]*)"
)
# RFC 5545 3.3.11: what stands in a TEXT
TEXT = re.compile(r"(?:\\[\\;,nN]|[^\\;,\x00-\x1f])*")
UTC = re.compile(r"\d{8}T\d{6}Z")
DURATION = re.compile(r"PT(?:\d+H)?(?:\d+M)?(?:\d+S)?")
TEXTS = {"SUMMARY", "LOCATION", "DESCRIPTION", "NAME", "UID", "X-WR-CALNAME"}
MOMENTS = {"DTSTAMP", "DTSTART", "DTEND", "LAST-MODIFIED"}
# RFC 5545 3.6, 3.6.1 with RFC 5546 3.2.1 (PUBLISH) and RFC 7986 5: (exactly once, at most once)
CALENDAR = (
    {"PRODID", "VERSION", "METHOD"},
    {
        "UID",
        "NAME",
        "LAST-MODIFIED",
        "REFRESH-INTERVAL",
        "COLOR",
        "X-WR-CALNAME",
        "X-PUBLISHED-TTL",
    },
)
EVENT = (
    {"UID", "DTSTAMP", "DTSTART", "ORGANIZER", "SUMMARY"},
    {"DTEND", "SEQUENCE", "STATUS", "LOCATION", "DESCRIPTION", "GEO", "URL", "CLASS", "TRANSP"},
)
WORDS = {
    "STATUS": {"TENTATIVE", "CONFIRMED", "CANCELLED"},
    "CLASS": {"PUBLIC", "PRIVATE", "CONFIDENTIAL"},
    "TRANSP": {"OPAQUE", "TRANSPARENT"},
    "METHOD": {"PUBLISH"},
    "VERSION": {"2.0"},
}


@dataclass
class Part:
    """A component: its properties as (name, parameters, value), and the parts within it."""

    name: str
    lines: list[tuple[str, str, str]] = field(default_factory=list)
    parts: list["Part"] = field(default_factory=list)

    def one(self, name: str) -> str:
        """Return the value of a property that stands once."""
        values = [value for known, _params, value in self.lines if known == name]
        assert len(values) == 1, f"{self.name}: {name} stands {len(values)} times"
        return values[0]

    def text(self, name: str) -> str:
        """Return a TEXT as a reader sees it."""
        marks = {"n": "\n", "N": "\n"}
        return re.sub(r"\\(.)", lambda m: marks.get(m[1], m[1]), self.one(name))


def read(data: bytes) -> Part:
    """Return the one calendar of a file. Raises AssertionError where the grammar is not kept."""
    assert data.endswith(b"\r\n")
    assert not re.search(rb"(?<!\r)\n|\r(?!\n)", data), "a line does not end in CRLF"
    octets = data[:-2].split(b"\r\n")
    assert all(len(line) <= 75 for line in octets), "a line is longer than 75 octets"
    lines = re.sub(rb"\r\n[ \t]", b"", data[:-2]).decode().split("\r\n")
    top = Part("")
    stack = [top]
    for line in lines:
        found = LINE.fullmatch(line)
        assert found, f"no content line: {line!r}"
        name, value = found["name"].upper(), found["value"]
        if name == "BEGIN":
            stack.append(Part(value.upper()))
            stack[-2].parts.append(stack[-1])
        elif name == "END":
            assert stack.pop().name == value.upper()
        else:
            stack[-1].lines.append((name, found["params"], value))
    assert stack == [top], "a part is not ended"
    assert [part.name for part in top.parts] == ["VCALENDAR"]
    _check(top.parts[0])
    return top.parts[0]


def _check(part: Part) -> None:
    """Assert which properties stand how often, and that each value is of its kind."""
    once, rest = CALENDAR if part.name == "VCALENDAR" else EVENT
    names = [name for name, _params, _value in part.lines]
    assert once <= set(names) <= once | rest, set(names) ^ (once | rest)
    assert len(names) == len(set(names)), f"{part.name}: a property stands twice"
    for name, params, value in part.lines:
        if name in TEXTS:
            assert TEXT.fullmatch(value), f"{name}: no TEXT: {value!r}"
        if name in MOMENTS:
            assert UTC.fullmatch(value), f"{name}: not in UTC: {value}"
            assert params == ""
        if name in WORDS:
            assert value in WORDS[name], f"{name}: {value}"
        if name in ("REFRESH-INTERVAL", "X-PUBLISHED-TTL"):
            assert DURATION.fullmatch(value), value
        # RFC 7986 5.7: VALUE=DURATION must be said
        if name == "REFRESH-INTERVAL":
            assert params == ";VALUE=DURATION"
        if name == "GEO":
            assert re.fullmatch(r"-?\d+(\.\d+)?;-?\d+(\.\d+)?", value), value
        if name == "ORGANIZER":
            assert value.startswith("mailto:")
    for inner in part.parts:
        assert (part.name, inner.name) == ("VCALENDAR", "VEVENT")
        _check(inner)
