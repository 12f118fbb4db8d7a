"""How many cases a drawn test takes: a fixed few by default, many and other ones in the long run."""

import os

from hypothesis import HealthCheck, settings

TIMES = int(os.environ.get("TEST_CASES_TIMES", "1"))


def cases(count: int) -> settings:
    """Return settings for `count` cases, drawn alike each time; TEST_CASES_TIMES draws more."""
    return settings(
        max_examples=count * TIMES,
        derandomize=TIMES == 1,
        deadline=None,
        print_blob=True,
        suppress_health_check=[HealthCheck.too_slow],
    )
