"""Notices as mail servers write them: not delivered, late, delivered, called spam.

Written out as they travel, so that no writer of the standard library checks its own reader.
"""

STATUS = """\
From: MAILER-DAEMON@relay.example
To: {to}
Subject: Undelivered mail returned to sender
Auto-Submitted: auto-replied
MIME-Version: 1.0
Content-Type: multipart/report; report-type=delivery-status; boundary="=_relay_1"

--=_relay_1
Content-Type: text/plain; charset=us-ascii

This is the mail system at host relay.example.

--=_relay_1
Content-Type: message/delivery-status

Reporting-MTA: dns; relay.example
Arrival-Date: Thu, 11 Jun 2026 09:00:00 +0000

Final-Recipient: rfc822; {recipient}
Action: {action}
Status: {code}
Diagnostic-Code: smtp; {words}

--=_relay_1
Content-Type: text/rfc822-headers

Message-ID: {original}
Subject: Our visit

--=_relay_1--
"""
COMPLAINT = """\
From: feedback@mail.example
To: {to}
Subject: Complaint
MIME-Version: 1.0
Content-Type: multipart/report; report-type=feedback-report; boundary="=_feedback"

--=_feedback
Content-Type: text/plain; charset=us-ascii

A reader called this spam.

--=_feedback
Content-Type: message/feedback-report

Feedback-Type: {kind}
User-Agent: Example/1
Version: 1

--=_feedback
Content-Type: message/rfc822

Message-ID: {original}
Subject: Our visit

Hello

--=_feedback--
"""


def status(
    *, to: str, recipient: str, action: str = "failed", code: str = "5.1.1",
    words: str = "550 5.1.1 no such mailbox here", original: str = "<none@x.example>",
) -> bytes:  # fmt: skip
    """A delivery status notification (RFC 3464) with the headers of what it is about."""
    text = STATUS.format(to=to, recipient=recipient, action=action, code=code, words=words,
                         original=original)  # fmt: skip
    return text.replace("\n", "\r\n").encode()


def complaint(*, to: str, original: str, kind: str = "abuse") -> bytes:
    """A complaint by a reader, as their provider reports it (RFC 5965)."""
    return COMPLAINT.format(to=to, original=original, kind=kind).replace("\n", "\r\n").encode()
