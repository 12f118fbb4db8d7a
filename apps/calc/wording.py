"""Plain English that is translated above: a sentence that keeps its gaps beside what fills them."""


class Text(str):
    """An English sentence that still knows its ``msgid`` with ``{gaps}`` and its ``params``."""

    msgid: str
    params: dict[str, object]


def text(msgid: str, **params: object) -> Text:
    """Mark a sentence for the translators and fill its gaps in English.

    >>> said = text("{field} must be above {other} ({value})", field="target_ph", other="ph", value=7.0)
    >>> said, said.msgid
    ('target_ph must be above ph (7)', '{field} must be above {other} ({value})')
    """
    shown = {name: f"{v:.10g}" if isinstance(v, float) else str(v) for name, v in params.items()}
    made = Text(msgid.format(**shown).strip() if params else msgid)
    made.msgid, made.params = msgid, params
    return made
