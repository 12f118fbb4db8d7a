"""One line an event: what a name or a note contains can not forge a second one."""

import logging
import re

SECRET = re.compile(r"(/c/|/calendar/)[A-Za-z0-9_\-]{20,}|(Bearer\s+)\S+")


class OneLine(logging.Formatter):
    """Formats a record on one line, control characters written out, links and tokens cut."""

    def __init__(self) -> None:
        super().__init__("%(asctime)s %(levelname)s %(name)s %(message)s")

    def format(self, record: logging.LogRecord) -> str:
        """Return the line."""
        line = super().format(record).replace("\\", "\\\\")
        line = "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in line)
        return SECRET.sub(r"\1\2…", line)
