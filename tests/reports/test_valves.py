"""The valve map of a hand-over: each valve between what its pipe joins, or named alone."""

import pytest

from apps.core.drawing.valve import valve
from apps.reports.rendering.papers import hand_over
from apps.reports.rendering.reader import Reader
from apps.reports.snapshot_kinds import valves_data
from apps.systems.models import Component, Flow
from tests import factories
from tests.reports.saying import snapshot

PART = {"litres": None, "make": "", "serial": "", "warranty": None}


@pytest.mark.django_db
def test_a_valve_stands_between_what_its_pipe_joins() -> None:
    factories.firm()
    built = factories.system(factories.place(factories.client("Okafor")))
    on, off, gone = (
        Component.objects.create(loop=built.loop, kind="valve", name=name, place_in_flow=9)
        for name in ("Return valve", "Drain valve", "Old valve")
    )
    Flow.objects.create(source=built.raft, target=on, kind="gravity")
    Flow.objects.create(source=on, target=built.tank, kind="gravity")
    Component.objects.filter(pk=gone.pk).update(removed_on=factories.TODAY)
    parts = Component.objects.filter(loop=built.loop, removed_on__isnull=True)
    assert valves_data(parts) == [
        {"name": "Drain valve", "from": [], "to": []},
        {"name": "Return valve", "from": ["Raft"], "to": ["Tank"]},
    ]
    assert off.name == "Drain valve"


def test_a_paper_of_before_names_its_valves_alone() -> None:
    kept = {
        "parts": [PART | {"name": "Return valve", "kind": "valve"}],
        "learnt": [],
        "to_learn": [],
    }
    told = hand_over(Reader(snapshot(hand_over=kept)))
    assert told is not None
    assert told["valves"] == [{"name": "Return valve", "from": "", "to": "", "drawn": ""}]


def test_the_drawing_says_in_words_what_it_shows() -> None:
    drawn = valve(title="Return valve, between <Raft> and Tank")
    assert 'aria-label="Return valve, between &lt;Raft&gt; and Tank"' in drawn
    assert "<Raft>" not in drawn
