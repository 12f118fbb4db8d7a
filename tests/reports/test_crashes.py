"""Whatever stops where: a letter arrives at most once, and once more for each 'send again'."""

import datetime as dt
import smtplib
from collections import Counter
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.core.mail import EmailMessage
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from apps.core import outbox
from apps.core.exceptions import Conflict
from apps.core.mail import Unreached, Unsure
from apps.core.models import Job
from apps.reports.models import Letter, MailServer
from apps.reports.services import sending
from apps.reports.services.letters import letter_again, letter_arrived, letter_make
from apps.reports.services.sending import leases_reap
from tests import factories
from tests.factories import NOW

pytestmark = pytest.mark.django_db
# where the sender is killed, and what the server does
KILLS = ("", "claimed", "written", "handing", "taken", "answered")
SERVER = ("takes", "busy", "refuses", "away", "silent-lost", "silent-taken")
STEPS = st.one_of(
    st.tuples(st.just("run"), st.sampled_from(KILLS), st.sampled_from(SERVER)),
    st.tuples(st.just("twice"), st.sampled_from(KILLS), st.sampled_from(SERVER)),
    st.just(("run", "", "takes")),
    st.just(("run", "", "silent-taken")),
    st.just(("again",)),
    st.just(("again",)),
    st.sampled_from([("reap",), ("arrived",), ("later", 1), ("later", 61), ("day",)]),
)


class Killed(BaseException):
    """kill -9, as far as the code around it can tell."""


class Post:
    """One letter, its sender, a server and a clock."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.at, self.taken, self.asked = NOW, 0, 0
        self.kill, self.server = "", "takes"
        # each example begins on the same day, so a pause of the one before would last for days
        MailServer.objects.all().delete()
        self.office = factories.actor(factories.user(f"o{uuid4().hex[:8]}", "office"))
        self.letter = letter_make(
            kind="due_list", key=uuid4().hex, address="robin@okafor.example", contact=None,
            visit=None, parameters={}, at=NOW,
        )  # fmt: skip
        monkeypatch.setattr(sending, "_hand_over", self._around(sending._hand_over, "written"))
        monkeypatch.setattr(sending, "_end", self._around(sending._end, "answered"))
        monkeypatch.setattr(EmailMessage, "send", lambda *_args, **_more: self._send())

    def _die(self, where: str) -> None:
        if self.kill == where:
            raise Killed(where)

    def _around(self, whole: Callable[..., Any], where: str) -> Callable[..., Any]:
        def shown(*args: Any, **more: Any) -> Any:
            self._die(where)
            return whole(*args, **more)

        return shown

    def _compose(self, letter: Letter) -> EmailMessage:
        self._die("claimed")
        return EmailMessage("x", "y", "office@x.example", [letter.address])

    def _send(self) -> int:
        self._die("handing")
        if self.server == "away":
            raise Unreached("refused")
        if self.server in ("busy", "refuses"):
            raise smtplib.SMTPDataError(451 if self.server == "busy" else 550, b"no")
        if self.server != "silent-lost":
            self.taken += 1
        self._die("taken")
        if self.server.startswith("silent"):
            raise Unsure("no answer")
        return 1

    def run(self, kill: str, server: str) -> None:
        """Let a worker carry out what is due of this letter's jobs."""
        self.kill, self.server = kill, server
        for job in Job.objects.filter(args__letter_id=str(self.letter.pk), state="new"):
            if job.run_at > self.at:
                continue
            try:
                sending.letter_send(letter_id=self.letter.pk, compose=self._compose, at=self.at)
            except outbox.Transient as waits:
                job.run_at = self.at + (waits.after or dt.timedelta(0))
                job.save()
            except Killed:
                pass
            else:
                Job.objects.filter(pk=job.pk).update(state="done")
        self.kill = ""

    def step(self, step: tuple[Any, ...]) -> None:
        """Do one thing."""
        word, rest = step[0], step[1:]
        self.letter.refresh_from_db()
        if word in ("run", "twice"):
            for _each in range(1 + (word == "twice")):
                self.run(*rest)
        elif word == "reap":
            self.at += dt.timedelta(minutes=3)
            leases_reap(self.at)
        elif word == "later":
            self.at += dt.timedelta(minutes=rest[0])
        elif word == "day":
            self.at += dt.timedelta(hours=24)
        else:
            self._office(word)

    def _office(self, word: str) -> None:
        try:
            if word == "again":
                letter_again(letter=self.letter, by=self.office, at=self.at)
                self.asked += 1
            else:
                letter_arrived(letter=self.letter, by=self.office, at=self.at)
        except Conflict:
            pass


def test_never_twice_by_accident() -> None:
    ends: Counter[str] = Counter()

    @given(steps=st.lists(STEPS, min_size=4, max_size=16))
    @settings(max_examples=80, deadline=None, derandomize=True)
    def walk(steps: list[tuple[Any, ...]]) -> None:
        with pytest.MonkeyPatch.context() as monkeypatch:
            post = Post(monkeypatch)
            for step in steps:
                post.step(step)
                assert post.taken <= 1 + post.asked, steps
            post.letter.refresh_from_db()
            ends[post.letter.state] += 1
            ends["more than once"] += post.taken > 1
            if post.letter.state == "sent":
                settled = post.letter.steps.filter(words="settled by the office").exists()
                assert post.taken >= 1 or settled, steps

    walk()
    # walks that never get anywhere would prove nothing
    for end in ("sent", "unsure", "queued", "sending", "more than once"):
        assert ends[end] >= 2, ends


@given(steps=st.lists(STEPS, min_size=1, max_size=8))
@settings(
    max_examples=40, deadline=None, derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)  # fmt: skip
def test_never_lost_in_silence(steps: list[tuple[Any, ...]]) -> None:
    """Once everything works again, each letter has arrived or waits for the office."""
    with pytest.MonkeyPatch.context() as monkeypatch:
        post = Post(monkeypatch)
        for step in steps:
            post.step(step)
        for _each in range(4):
            post.step(("reap",))
            post.step(("later", 61))
            post.step(("run", "", "takes"))
        post.letter.refresh_from_db()
        assert post.letter.state in ("sent", "unsure", "failed"), steps
        if post.letter.state == "sent":
            assert post.taken or post.letter.steps.filter(words="settled by the office").exists()
