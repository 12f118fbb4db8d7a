"""One thing that waits for the office."""

import datetime as dt
from dataclasses import dataclass

from apps.core.scoping import Actor
from apps.office.wording import age_words


@dataclass(frozen=True)
class Waiting:
    """One thing that waits for the office: since when, words before the link, in it, after it.

    `person`: somebody may need help, so it comes before all else.
    """

    since: dt.datetime
    age: str
    url: str
    name: str
    text: str
    before: str = ""
    person: bool = False


def waits(
    actor: Actor, since: dt.datetime, url: str, name: str, text: str, before: str = ""
) -> Waiting:
    """Return something that waits, with its age as the office reads it."""
    return Waiting(since, age_words(since, actor.at), url, name, text, before)
