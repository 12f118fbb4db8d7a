"""Tags and filters of the pages."""

from datetime import UTC, date, datetime

import pytest
from django.template import Context, Engine

from apps.core.drawing.scale import Band

ENGINE = Engine(libraries={"look": "apps.core.templatetags.look"})


def write(source, **context):
    return ENGINE.from_string("{% load look %}" + source).render(Context(context))


@pytest.mark.parametrize(
    ("style", "expected"),
    [
        ("short", "Thu 11 June"),
        ("long", "Thursday 11 June"),
        ("year", "Thu 11 June 2026"),
        ("bare", "11 June"),
    ],
)
def test_a_date_says_its_weekday(style, expected):
    assert write(f'{{{{ day|weekday_date:"{style}" }}}}', day=date(2026, 6, 11)) == expected


def test_an_aware_moment_is_written_as_local_day_and_time(settings):
    settings.TIME_ZONE = "UTC"
    at = datetime(2026, 6, 11, 8, 20, tzinfo=UTC)
    assert write("{{ at|weekday_date }} {{ at|clock_time }}", at=at) == "Thu 11 June 08:20"


def test_nothing_is_written_as_nothing():
    assert (
        write(
            "{{ x|weekday_date }}{{ x|clock_time }}{{ x|figure:'mg/L' }}{{ x|decimals:1 }}", x=None
        )
        == ""
    )


def test_figure_and_unit_stay_together():
    assert write("{{ x|figure:'mg/L' }}", x=6.4) == "6.4\u00a0mg/L"
    assert write("{{ x|decimals:2|figure:'mg/L' }}", x=6.4) == "6.40\u00a0mg/L"


def test_a_judgement_stands_as_mark_and_word():
    out = write("{% judgement_mark 'out_of_band' ', alkalinity' %}")
    assert 'class="judged judged-out-of-band"' in out
    assert "<svg" in out
    assert "out of band, alkalinity</span>" in out


def test_an_urgency_stands_as_gauge_and_word():
    out = write("{% urgency_gauge 'within_3_days' %}")
    assert 'class="urgency urgency-within-3-days"' in out
    assert "within 3 days" in out


def test_a_hold_frames_what_it_says_and_escapes_it():
    out = write("{% hold %}until {{ x }}{% endhold %}", x="<b>")
    assert 'class="hold"' in out
    assert "until &lt;b&gt;" in out


def test_a_water_line_in_a_place_of_a_page():
    band = Band(6.4, 7.2)
    out = write(
        "{% water_line band=b today=6.4 word='near_edge' title='pH 6.4' size='due' %}", b=band
    )
    assert 'width="146"' in out
    assert 'aria-label="pH 6.4"' in out
    printed = write(
        "{% water_line band=b today=6.4 word='near_edge' title='pH' size='paper' printed=True %}",
        b=band,
    )
    assert "class=" not in printed
