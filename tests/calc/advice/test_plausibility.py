"""Slips of unit, point and basis are asked about; honest readings are not."""

import math

import pytest

from apps.calc.plausibility import check, is_trusted, to_base


def first(*args, **more):
    return next(iter(check(*args, **more)), None)


@pytest.mark.parametrize(("measurand", "value", "unit"), [
    ("ph", 7.1, ""), ("temp", 24.5, "°C"), ("temp", 77, "°F"), ("alk", 80, "mg/L CaCO3"),
    ("alk", 4.5, "dKH"), ("tan", 0.25, "mg/L"), ("no3", 40, "mg/L"), ("ec", 0.8, "mS/cm"),
    ("ec", 800, "uS/cm"), ("ec", 400, "ppm500"), ("do", 7.0, "mg/L"), ("no2", 0.0, "mg/L"),
    ("mort", 0, ""), ("flow", 20, "L/min"),
])  # fmt: skip
def test_honest_readings_are_not_doubted(measurand, value, unit):
    assert check(measurand, value, unit) == []


@pytest.mark.parametrize(("args", "more", "code", "meant", "blocking"), [
    (("ph", 71, ""), {}, "outside_range", 7.1, True),
    (("ph", 14, ""), {}, "outside_range", None, True),
    (("temp", 75, "°C"), {}, "outside_range", 23.9, True),
    (("temp", 41, "°C"), {"last": 6.0}, "fahrenheit", 5.0, False),
    (("ec", 850, "mS/cm"), {}, "outside_range", 0.85, True),
    (("ec", 0.8, "uS/cm"), {}, "outside_range", 0.8, True),
    (("alk", 4, "mg/L CaCO3"), {}, "degrees_of_hardness", 71.4, False),
    (("alk", 6, "mg/L"), {"last": 100.0}, "degrees_of_hardness", 107.1, False),
    (("no3", 120, "mg/L"), {"last": 28.0}, "ion_for_nitrogen", 27.1, False),
    (("no2", 0.66, "mg/L"), {"last": 0.2}, "ion_for_nitrogen", 0.2, False),
    (("no3", 150, "mg/L"), {"last": 40.0}, "ion_for_nitrogen", 33.9, False),
    (("ec", 700, "ppm500"), {"last": 1.0}, "solids_scale", 1.0, False),
    (("do", 85, "mg/L"), {"others": {"temp": 25.0}}, "outside_range", 7.0, True),
    (("do", 15, "mg/L"), {"others": {"temp": 25.0}}, "oversaturated", 1.24, True),
    (("do", 12, "mg/L"), {"others": {"temp": 25.0}}, "oversaturated", None, False),
    (("ph", 5.9, ""), {"others": {"alk": 200.0, "temp": 25.0}}, "ph_and_alkalinity", None, False),
    (("ph", 8.0, ""), {"last": 6.8}, "jump", None, False),
    (("ph", 6.0, ""), {"method": "drops"}, "drops_blind", None, False),
    (("tan", 3.0, "mg/L"), {}, "unusual", None, False),
    (("tan", 0.0, "mg/L"), {"kit_expired": True}, "kit_expired", None, True),
    (("ph", 6.9, ""), {"meter_failed": True}, "meter_failed", None, True),
    (("ph", math.nan, ""), {}, "not_a_number", None, True),
    (("temp", 20, "K"), {}, "unknown_unit", None, True),
    (("do", 90, "%"), {}, "needs_temperature", None, True),
])  # fmt: skip
def test_a_slip_is_named_with_what_was_meant(args, more, code, meant, blocking):
    doubt = first(*args, **more)
    assert (doubt.code, doubt.blocking) == (code, blocking)
    if meant is None:
        assert doubt.suggestion is None or code == "outside_range"
    else:
        assert doubt.suggestion == pytest.approx(meant, rel=0.01)


def test_a_true_crash_is_not_taken_for_degrees():
    doubts = check("alk", 6, "mg/L", last=9.0)
    assert [d.code for d in doubts] == ["unusual"]


def test_a_likely_slip_needs_a_second_look_and_a_blocking_doubt_never_counts():
    assert is_trusted(check("tan", 3.0, "mg/L"))
    slip = check("alk", 4, "mg/L", last=70.0)
    assert not is_trusted(slip)
    assert is_trusted(slip, checked_twice=True)
    assert not is_trusted(check("ph", 71, ""), checked_twice=True)
    assert is_trusted([])


# molar masses; 1 dKH = 17.848 mg/L CaCO3, 1 meq/L = 50.04 mg/L CaCO3 (computed)
@pytest.mark.outside(source="molar masses", kind="computed", tolerance="0.1 %")
@pytest.mark.parametrize(("args", "base"), [
    (("no3", 1, "mg/L", "ion"), 0.2259), (("no2", 1, "mg/L", "ion"), 0.3045),
    (("tan", 1, "mg/L", "ion"), 0.7765), (("po4", 3.0662, "mg/L", "ion"), 1.0),
    (("alk", 1, "dKH"), 17.848), (("alk", 1, "meq/L"), 50.04), (("temp", 77, "°F"), 25.0),
    (("ec", 700, "ppm700"), 1.0), (("ec", 640, "ppm640"), 1.0), (("ec", 1413, "uS/cm"), 1.413),
    (("level", 2, "in"), 50.8), (("flow", 600, "L/h"), 10.0),
])  # fmt: skip
def test_units_and_bases(args, base):
    assert to_base(*args) == pytest.approx(base, rel=0.001)


# Benson & Krause: 8.263 mg/L at 25 °C (computed)
@pytest.mark.outside(source="Benson & Krause 1984", kind="computed", tolerance="0.1 %")
def test_oxygen_typed_in_percent():
    assert to_base("do", 50, "%", temp_c=25) == pytest.approx(8.263 / 2, rel=0.001)
    assert check("do", 85, "%", others={"temp": 25.0}) == []


def test_an_unknown_unit_or_basis_is_an_error():
    with pytest.raises(ValueError, match="unit of temp"):
        to_base("temp", 20, "K")
    with pytest.raises(ValueError, match="basis"):
        to_base("alk", 20, "mg/L", "ion")
    with pytest.raises(ValueError, match="unit of no3"):
        to_base("no3", 20, "g/L")
