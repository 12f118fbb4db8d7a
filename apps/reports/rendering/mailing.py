"""A letter as a mail: text, HTML, pictures inside, files attached."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from email.mime.image import MIMEImage
from typing import Any
from urllib.parse import quote

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.template.loader import render_to_string
from django.utils.html import escape
from django.utils.translation import get_language, get_language_bidi
from django.utils.translation import gettext as _


@dataclass
class Mail:
    """What a mail is made of. Attachments are (name, bytes, type)."""

    kind: str
    subject: str
    context: dict[str, Any]
    address: str
    message_id: str
    firm_name: str
    reply_to: str
    attachments: Sequence[tuple[str, bytes, str]] = ()
    pictures: dict[str, bytes] = field(default_factory=dict)
    calendar: tuple[bytes, str] | None = None
    # Message-IDs of what it answers or corrects, oldest first
    references: Sequence[str] = ()
    # where it comes back to; empty: to the sender
    envelope: str = ""
    # where one press ends letters of this kind (RFC 8058); empty: it is the service itself
    unsubscribe: str = ""


def _one_line(text: str) -> str:
    return " ".join(text.split())[:200]


def _unsubscribe(mail: Mail) -> dict[str, str]:
    """Return how a mail program ends such letters: by one press, or by a mail to the office."""
    subject = quote(_("No more notices, please"))
    ways = f"<{mail.unsubscribe}>, <mailto:{mail.reply_to}?subject={subject}>"
    headers = {"List-Unsubscribe": ways}
    if mail.unsubscribe.startswith("https://"):
        # RFC 8058 knows one press over HTTPS only
        headers["List-Unsubscribe-Post"] = "List-Unsubscribe=One-Click"
    return headers


def _unbroken(html: str, firm: Any, *others: str) -> str:
    """Return HTML in which no telephone number, the firm's or another, is broken at a line's end."""
    for number in {getattr(firm, "phone", ""), getattr(firm, "emergency_phone", ""), *others}:
        if " " in number:
            html = html.replace(escape(number), escape(number).replace(" ", "&nbsp;"))
    return html


def message_of(mail: Mail) -> EmailMultiAlternatives:
    """Return the message, one recipient, in the active language."""
    context = mail.context | {
        "subject": mail.subject,
        "language": get_language() or "en",
        "direction": "rtl" if get_language_bidi() else "ltr",
    }
    headers = {
        "Message-ID": mail.message_id,
        "Auto-Submitted": "auto-generated",
        "Content-Language": context["language"],
    }
    if mail.unsubscribe:
        headers |= _unsubscribe(mail)
    if mail.references:
        headers["In-Reply-To"] = mail.references[-1]
        headers["References"] = " ".join(mail.references)
    sender = f'"{_one_line(mail.firm_name)}" <{settings.DEFAULT_FROM_EMAIL}>'
    if mail.envelope:
        headers["From"] = sender
    message = EmailMultiAlternatives(
        subject=_one_line(mail.subject),
        body=render_to_string(f"letters/{mail.kind}/body.txt", context).strip() + "\n",
        from_email=mail.envelope or sender,
        to=[mail.address],
        reply_to=[mail.reply_to],
        headers=headers,
    )
    html = render_to_string(f"letters/{mail.kind}/body.html", context)
    message.attach_alternative(
        _unbroken(html, context.get("firm"), str(context.get("phone", ""))), "text/html"
    )
    if mail.calendar is not None:
        data, method = mail.calendar
        message.attach_alternative(data.decode(), f"text/calendar; method={method}")
    for cid, data in mail.pictures.items():
        image = MIMEImage(data, "png")
        image.add_header("Content-ID", f"<{cid}>")
        image.add_header("Content-Disposition", "inline", filename=f"{cid}.png")
        message.attach(image)
    for name, data, kind in mail.attachments:
        message.attach(name, data, kind)
    return message
