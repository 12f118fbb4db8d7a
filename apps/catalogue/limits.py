"""Figures of an entry that follow one another: no limit may lie below the one before it."""

from collections.abc import Iterable, Mapping
from itertools import pairwise
from typing import Any

CHAINS = (
    ("red_lo", "amber_lo", "t_lo", "t_hi", "amber_hi", "red_hi"),
    ("hard_low", "ask_low", "ask_high", "hard_high"),
    ("die_low", "feed_min", "opt_low", "opt_high", "feed_max", "die_high"),
    ("do_min", "do_target"),
    ("low", "high"),
)
LOW, HIGH = "_low", "_high"


def _chains(keys: Iterable[str]) -> list[tuple[str, ...]]:
    pairs = [(key, key.removesuffix(LOW) + HIGH) for key in keys if key.endswith(LOW)]
    return [*CHAINS, *(pair for pair in pairs if not any(set(pair) <= set(c) for c in CHAINS))]


def out_of_order(figures: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Return pairs (before, after) of figures where the one after is the smaller.

    >>> out_of_order({"t_lo": 6.4, "t_hi": 7.2, "red_hi": 7.0, "ph_low": 6, "ph_high": 5})
    [('t_hi', 'red_hi'), ('ph_low', 'ph_high')]
    """
    found = []
    for chain in _chains(figures):
        held = [key for key in chain if _is_number(figures.get(key))]
        found += [(low, high) for low, high in pairwise(held) if figures[high] < figures[low]]
    return found


def _is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
