"""Drawings: fixed places, equal bytes, safe text, words beside marks, labels that keep apart."""

import itertools
import re
from datetime import date
from xml.etree import ElementTree

import pytest

from apps.core.drawing import marks, words
from apps.core.drawing.chart import ChartPoint, line_chart
from apps.core.drawing.ink import PRINT, ROLES
from apps.core.drawing.measure import text_width
from apps.core.drawing.png import svg_png
from apps.core.drawing.scale import Band, anchors, is_beyond, place
from apps.core.drawing.shapes import JUDGEMENTS
from apps.core.drawing.sketch import flow_sketch, sketch_sentence
from apps.core.drawing.sketch_model import (
    SketchComponent,
    SketchFlow,
    SketchLoop,
    SketchValue,
)
from apps.core.drawing.sparkline import sparkline
from apps.core.drawing.waterline import water_line

PH = Band(6.4, 7.2, 5.8, 8.2, 5.2, 8.8)
NITRITE = Band(good_high=0.5, harmful_high=2, scale_min=0, scale_max=4)
SVG = "{http://www.w3.org/2000/svg}"


def line(**given):
    asked = {
        "band": PH,
        "today": 6.43,
        "last": 6.62,
        "word": "near_edge",
        "width": 218,
        "height": 40,
        "title": "pH 6.43",
    }
    return str(water_line(**{**asked, **given}))


def five_parts():
    """A fish loop of five vessels, with long names and two values nearly everywhere."""
    two = [
        SketchValue("ammonia", "0.12", "mg/L"),
        SketchValue("nitrite", "10.5", "mg/L", "harmful"),
    ]
    parts = [
        SketchComponent(
            "t", "tank", "Tank with the old koi", 1000, size_text="1,000 L", values=two
        ),
        SketchComponent("s", "settler", "Settler", 90, size_text="90 L", values=two),
        SketchComponent("m", "static_media", "Static media filter", 110, values=two),
        SketchComponent("b", "moving_bed", "Moving bed", 80, size_text="80 L", values=two),
        SketchComponent("u", "sump", "Sump", 170, size_text="170 L", values=two, faulty=True),
        SketchComponent("p", "pump", "Pump"),
    ]
    flows = [
        SketchFlow("t", "s"),
        SketchFlow("s", "m"),
        SketchFlow("m", "b"),
        SketchFlow("b", "u"),
        SketchFlow("u", "p"),
        SketchFlow("p", "t", "1,320 L/h, lifted 1.1 m", "pumped"),
    ]
    return [SketchLoop("f", "Fish loop", 1450, 0.9, parts, flows)]


def two_loops():
    fish = SketchLoop(
        "f",
        "Fish loop",
        1000,
        None,
        [
            SketchComponent("t", "tank", "Tank", 800),
            SketchComponent("u", "sump", "Sump", 200),
        ],
        [
            SketchFlow("t", "u"),
            SketchFlow("u", "t", "900 L/h", "pumped"),
            SketchFlow("u", "q", "one way, by hand", "by_hand", one_way=True),
        ],
    )
    plants = SketchLoop(
        "p",
        "Plant loop",
        600,
        None,
        [
            SketchComponent("q", "sump", "Plant sump", 200),
            SketchComponent("g", "gravel_bed", "Gravel bed", 200, 0.9),
            SketchComponent("r", "raft", "Raft", 400, 2.1),
        ],
        [SketchFlow("q", "g", "", "pumped"), SketchFlow("g", "r"), SketchFlow("r", "q")],
    )
    return [fish, plants]


class TestScale:
    @pytest.mark.parametrize(
        ("value", "share"),
        [(5.2, 0), (5.8, 1 / 8), (6.4, 3 / 8), (7.2, 5 / 8), (8.2, 7 / 8), (8.8, 1)],
    )
    def test_limits_stand_at_fixed_places(self, value, share):
        assert place(PH, value) == pytest.approx(share)

    def test_is_straight_between_two_anchors(self):
        assert place(PH, 6.8) == pytest.approx(0.5)

    def test_a_missing_limit_drops_its_anchor(self):
        assert place(NITRITE, 0.25) == pytest.approx(5 / 16)

    def test_a_log_scale_goes_by_factors(self):
        band = Band(good_low=1, good_high=100, harmful_high=1000, scale_min=0.1, scale_max=10000)
        assert place(band, 10, log=True) == pytest.approx(0.5)

    def test_values_beyond_an_end_sit_on_it(self):
        assert place(NITRITE, 12) == 1
        assert is_beyond(NITRITE, 12)
        assert not is_beyond(NITRITE, 4)

    @pytest.mark.parametrize(
        "band", [Band(), Band(good_low=5), Band(good_high=0.5), Band(3, 3, 3, 3), Band(0, 0)]
    )
    def test_any_band_has_rising_anchors(self, band):
        points = anchors(band)
        assert all(a <= b for (a, _), (b, _) in itertools.pairwise(points))
        assert 0 <= place(band, 1.0) <= 1

    @pytest.mark.parametrize("value", [float("nan"), float("inf")])
    def test_only_finite_values_have_a_place(self, value):
        with pytest.raises(ValueError, match="finite"):
            place(PH, value)


class TestWaterLine:
    def test_equal_input_gives_equal_bytes(self):
        assert line() == line()

    def test_ticks_stand_where_the_scale_says(self):
        ticks = re.findall(r'class="k-tick" d="M([\d.]+) ', line())
        assert ticks == ["84", "134"]

    def test_carries_its_sentence_escaped(self):
        root = ElementTree.fromstring(line(title='pH "6" <b>&'))
        assert root.get("aria-label") == 'pH "6" <b>&'
        assert root.get("role") == "img"

    def test_shape_goes_with_the_word(self):
        assert "<circle" in line(word="in_band", last=None)
        assert 'class="k-today-pen" d="' in line(word="out_of_band", last=None)
        assert '<rect class="k-today-pen"' in line(word="harmful", last=None)

    def test_last_value_is_left_out_when_too_near(self):
        assert "k-last" not in line(today=6.62, last=6.62)
        assert "k-last" in line(today=6.9, last=6.62)

    def test_not_measured_has_no_solid_mark(self):
        drawn = line(today=None, word="measure_again")
        assert "k-today" not in drawn
        assert "k-last" in drawn

    def test_below_the_kits_limit_is_a_bar_and_a_mark_pointing_down(self):
        drawn = line(today=None, last=None, below_limit=6.1, word="in_band")
        assert 'class="k-below"' in drawn
        assert "k-today" in drawn

    def test_print_uses_no_class_and_no_style(self):
        drawn = line(palette=PRINT, numbers=True, height=62)
        assert "class=" not in drawn
        assert "style=" not in drawn
        assert "#14232A" in drawn

    def test_prints_the_limits_in_the_readers_language(self):
        assert "6,4" in line(numbers=True, locale="de")

    def test_refuses_an_unknown_word(self):
        with pytest.raises(ValueError, match="not a judgement"):
            line(word="good")


class TestReadingSentence:
    def say(self, **given):
        asked = {"name": "pH", "today": "6.43", "band": PH, "word": "near_edge"}
        return words.reading_sentence(**{**asked, **given})

    def test_says_value_last_trend_band_and_word(self):
        expected = "pH 6.43, was 6.62, falling; good from 6.4 to 7.2; near the edge"
        assert self.say(last="6.62", trend="falling") == expected

    def test_says_below_the_limit_of_the_kit(self):
        said = self.say(name="ammonia", today=None, below_limit="0.25", unit="mg/L", word="in_band")
        assert said.startswith("ammonia below 0.25\u00a0mg/L, the least the kit can see")

    def test_says_beyond_the_scale(self):
        said = self.say(
            name="nitrite", today="12", unit="mg/L", band=NITRITE, word="harmful", beyond=True
        )
        assert said == "nitrite 12\u00a0mg/L, beyond the scale; good up to 0.5\u00a0mg/L; harmful"

    def test_says_why_nothing_was_measured(self):
        said = self.say(name="iron", today=None, reason="reagent expired", word="in_band")
        assert said == "iron not measured: reagent expired; good from 6.4 to 7.2"


class TestMarks:
    @pytest.mark.parametrize("word", JUDGEMENTS)
    def test_each_judgement_has_a_mark_and_a_word(self, word):
        ElementTree.fromstring(marks.judgement_mark(word))
        assert str(words.JUDGEMENT_WORDS[word])

    def test_no_two_judgements_look_alike_without_colour(self):
        bodies = {re.sub(r'class="[^"]*"', "", marks.judgement_mark(w)) for w in JUDGEMENTS}
        assert len(bodies) == len(JUDGEMENTS)

    def test_the_gauge_stands_higher_the_more_it_presses(self):
        full = [str(marks.urgency_gauge(u)).count('class="k-solid') for u in marks.URGENCIES]
        assert full == [4, 3, 2, 1, 0]


class TestSparkline:
    def test_breaks_at_a_gap(self):
        drawn = sparkline(values=[1, 2, None, 3, 4], band=NITRITE, title="nitrite")
        data = re.search(r'class="k-line" d="([^"]+)"', drawn)
        assert data is not None
        assert data[1].count("M") == 2

    def test_nothing_measured_still_draws_the_band(self):
        assert "k-band" in sparkline(values=[], band=PH, title="pH")


class TestLineChart:
    def chart(self, **given):
        points = [ChartPoint(date(2026, 6, d), 6.0 + d / 20) for d in (1, 8, 11)]
        asked = {
            "points": points,
            "band": PH,
            "first": date(2026, 3, 13),
            "final": date(2026, 6, 11),
            "title": "pH",
            "date_text": lambda day: f"{day.day}.{day.month}.",
        }
        return str(line_chart(**{**asked, **given}))

    def test_the_range_always_includes_the_limits(self):
        texts = [t.text for t in ElementTree.fromstring(self.chart()).iter(f"{SVG}text")]
        assert "6.4" in texts
        assert "7.2" in texts

    def test_without_readings_shows_band_and_days(self):
        assert "k-band" in self.chart(points=[])

    def test_refuses_a_span_of_no_days(self):
        with pytest.raises(ValueError, match="after it begins"):
            self.chart(first=date(2026, 6, 11))


def placed_texts(element, down=0.0):
    """Every text with how far the groups around it were moved down."""
    for child in element:
        moved = re.match(r"translate\(\S+ (\S+)\)", child.get("transform") or "")
        below = down + (float(moved[1]) if moved else 0.0)
        if child.tag == f"{SVG}text":
            yield child, below
        else:
            yield from placed_texts(child, below)


def text_boxes(svg):
    """Left, top, right, bottom and content of every text, by the widths of our own faces."""
    found = []
    for text, down in placed_texts(ElementTree.fromstring(svg)):
        runs = [(text, text.text), *((span, span.text) for span in text)]
        runs = [(at, content) for at, content in runs if content]
        if not runs:
            continue
        size = max(float(at.get("font-size")) for at, _ in runs)
        wide = sum(
            text_width(
                content,
                float(at.get("font-size")),
                weight=int(at.get("font-weight", 400)),
                serif="k-serif" in (at.get("class") or ""),
            )
            + float(at.get("dx", 0))
            for at, content in runs
        )
        x, y = float(text.get("x")), float(text.get("y")) + down
        x -= wide / 2 if text.get("text-anchor") == "middle" else 0
        x -= wide if text.get("text-anchor") == "end" else 0
        found.append((x, y - size * 0.72, x + wide, y + size * 0.2, runs[0][1]))
    return found


def overlaps(a, b):
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


class TestFlowSketch:
    @pytest.mark.parametrize("layout", ["wide", "stacked", "rows"])
    @pytest.mark.parametrize("loops", [five_parts, two_loops])
    def test_labels_keep_apart_and_inside(self, layout, loops):
        svg = flow_sketch(loops(), layout=layout)
        boxes = text_boxes(svg)
        assert boxes
        width = float(ElementTree.fromstring(svg).get("width"))
        assert [b for b in boxes if b[0] < 0 or b[2] > width + 1] == []
        assert [(a[4], b[4]) for a, b in itertools.combinations(boxes, 2) if overlaps(a, b)] == []

    @pytest.mark.parametrize("layout", ["wide", "stacked", "rows"])
    def test_equal_input_gives_equal_bytes(self, layout):
        assert flow_sketch(five_parts(), layout=layout) == flow_sketch(five_parts(), layout=layout)

    def test_no_text_is_smaller_than_thirteen(self):
        sizes = re.findall(r'font-size="([\d.]+)"', flow_sketch(five_parts()))
        assert min(map(float, sizes)) >= 13

    def test_the_water_falls(self):
        levels = [
            float(y)
            for y in re.findall(r'class="k-base" d="M[\d.]+ ([\d.]+)q', flow_sketch(five_parts()))
        ]
        assert levels == sorted(levels)

    def test_names_are_escaped(self):
        loops = [
            SketchLoop("f", "<b>Loop</b>", components=[SketchComponent("t", "tank", "A & <B>")])
        ]
        svg = flow_sketch(loops)
        assert "<b>" not in svg
        ElementTree.fromstring(svg)

    def test_a_faulty_vessel_has_dashed_walls_and_the_word(self):
        svg = flow_sketch(five_parts())
        assert "k-wall-still" in svg
        assert ">faulty<" in svg

    def test_the_sentence_names_every_vessel_and_the_way_out(self):
        said = sketch_sentence(two_loops())
        assert said == (
            "Flow sketch. Fish loop: Tank, Sump. Plant loop: Plant sump, Gravel bed, Raft. "
            "Sump to Plant sump: one way, by hand."
        )

    def test_at_most_two_values_at_a_component(self):
        three = {"t": [SketchValue(f"label {n}", "1") for n in range(3)]}
        assert len(re.findall(r">label \d<", flow_sketch(two_loops(), three))) == 2

    def test_values_by_id_replace_the_components_own(self):
        svg = flow_sketch(five_parts(), {"t": [SketchValue("", "24.1", "°C")]})
        assert ">24.1<" in svg

    def test_values_stand_over_the_shade_of_their_tank(self):
        values = [SketchValue("warmth", "13.2", "°C"), SketchValue("oxygen", "8.6", "mg/L")]
        parts = [
            SketchComponent("t", "tank", "Tank", 700, values=values),
            SketchComponent("c", "shade", "Shade cloth"),
        ]
        svg = flow_sketch([SketchLoop("f", "Loop", 700, None, parts, [])], palette=PRINT)
        (shade,) = re.findall(r'd="M[\d.]+ ([\d.]+)L[\d.]+ ([\d.]+)M[\d.]+ [\d.]+V', svg)
        (figure,) = re.findall(r'<text[^>]* y="([\d.]+)"[^>]*>(?:<tspan[^>]*>)?8\.6<', svg)
        assert float(figure) < min(map(float, shade)) - 2

    def test_flows_to_nowhere_are_left_out(self):
        loops = [
            SketchLoop(
                "f",
                "Loop",
                components=[SketchComponent("t", "tank", "Tank")],
                flows=[SketchFlow("t", "gone"), SketchFlow("t", "t")],
            )
        ]
        ElementTree.fromstring(flow_sketch(loops))

    @pytest.mark.parametrize("layout", ["wide", "stacked", "rows"])
    def test_no_loops_is_an_empty_picture(self, layout):
        ElementTree.fromstring(flow_sketch([], layout=layout))

    def test_a_circle_of_gravity_alone_ends(self):
        parts = [SketchComponent(n, "tank", n) for n in "abc"]
        flows = [SketchFlow("a", "b"), SketchFlow("b", "c"), SketchFlow("c", "a")]
        ElementTree.fromstring(flow_sketch([SketchLoop("f", "Loop", None, None, parts, flows)]))

    def test_print_uses_no_class(self):
        assert "class=" not in flow_sketch(two_loops(), layout="rows", palette=PRINT)

    def test_refuses_what_it_does_not_know(self):
        with pytest.raises(ValueError, match="layout"):
            flow_sketch(two_loops(), layout="round")
        wrong = [SketchLoop("f", "Loop", components=[SketchComponent("x", "barrel", "X")])]
        with pytest.raises(ValueError, match="component kind"):
            flow_sketch(wrong)


class TestPng:
    def test_text_reaches_the_pixels(self):
        from io import BytesIO

        from PIL import Image

        def dark(title_numbers):
            svg = line(palette=PRINT, numbers=title_numbers, height=62, width=300, number_size=16)
            image = Image.open(BytesIO(svg_png(svg))).convert("L")
            assert image.size == (600, 124)
            foot = image.crop((0, 96, 600, 124))
            return sum(foot.histogram()[:128])

        assert dark(title_numbers=True) > 100
        assert dark(title_numbers=False) == 0

    def test_refuses_a_drawing_that_needs_the_style_sheet(self):
        with pytest.raises(ValueError, match="PRINT"):
            svg_png(line())


def test_every_role_has_its_class_in_the_style_sheet():
    from pathlib import Path

    css = (Path(words.__file__).parent.parent / "static" / "css" / "parts.css").read_text()
    assert [role for role in ROLES if f".k-{role} " not in css] == []
