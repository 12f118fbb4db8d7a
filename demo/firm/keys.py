"""Names become keys, and chance becomes repeatable: the same day gives the same firm."""

import datetime as dt
import random
from uuid import NAMESPACE_URL, UUID, uuid5

SPACE = uuid5(NAMESPACE_URL, "https://reedandroach.example/demo")


def key(*parts: object) -> UUID:
    """Return the key of a named thing: the same name, the same key."""
    return uuid5(SPACE, "/".join(str(part) for part in parts))


def chance(today: dt.date, *parts: object) -> random.Random:
    """Return a source of chance for a day and a name; text seeds do not depend on hashing."""
    return random.Random(f"{today.isoformat()}-{'-'.join(str(p) for p in parts)}")
