"""SMTP that knows how far a send came: before the data began, or after.

Before, a failure is safe to repeat. After, nobody can know whether the letter was taken.
"""

import smtplib
from typing import Any

from django.core.mail.backends.smtp import EmailBackend


class Unsure(Exception):
    """The data was handed over and no answer came back."""


class _PhasedSMTP(smtplib.SMTP):
    data_started = False

    def data(self, msg: Any) -> tuple[int, bytes]:
        """Remember that the letter itself is now on its way."""
        self.data_started = True
        return super().data(msg)


class PhasedSMTPBackend(EmailBackend):
    """Django's SMTP backend; raises Unsure where the outcome cannot be known."""

    @property
    def connection_class(self) -> type[smtplib.SMTP]:
        """Return the class that watches the phase."""
        return _PhasedSMTP

    def _send(self, email_message: Any) -> bool:
        try:
            return bool(super()._send(email_message))  # type: ignore[misc]
        except (smtplib.SMTPServerDisconnected, TimeoutError, OSError) as error:
            connection = self.connection
            answered = isinstance(error, smtplib.SMTPResponseException)
            if getattr(connection, "data_started", False) and not answered:
                raise Unsure(str(error)) from error
            raise
