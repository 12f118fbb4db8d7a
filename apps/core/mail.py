"""SMTP that knows how far a send came: never connected, before the data began, or after.

Before the data, a failure is safe to repeat. After, nobody can know whether the letter was taken.
"""

import smtplib
from typing import Any

from django.core.mail.backends.smtp import EmailBackend


class Unsure(Exception):
    """The data was handed over and no answer came back."""


class Unreached(Exception):
    """The server could not be spoken to at all: it is away, or does not know us."""


class _PhasedSMTP(smtplib.SMTP):
    data_started = False

    def data(self, msg: Any) -> tuple[int, bytes]:
        """Remember that the letter itself is now on its way."""
        self.data_started = True
        return super().data(msg)


class PhasedSMTPBackend(EmailBackend):
    """Django's SMTP backend; raises Unreached and Unsure for the two ends of a conversation."""

    @property
    def connection_class(self) -> type[smtplib.SMTP]:
        """Return the class that watches the phase."""
        return _PhasedSMTP

    def open(self) -> bool | None:
        """Connect and greet. Raises Unreached."""
        try:
            return super().open()
        except (OSError, smtplib.SMTPException) as error:
            raise Unreached(str(error)) from error

    def _send(self, email_message: Any) -> bool:
        try:
            return bool(super()._send(email_message))  # type: ignore[misc]
        except smtplib.SMTPResponseException:
            raise
        except Exception as error:
            # whatever ended it, a time limit of the worker too
            if getattr(self.connection, "data_started", False):
                raise Unsure(str(error) or type(error).__name__) from error
            raise
