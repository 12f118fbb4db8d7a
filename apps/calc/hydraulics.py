"""Water in vessels and pipes: volumes, friction, pump head, siphons."""

import math
from dataclasses import dataclass

from apps.calc.quantities import require, require_between

GRAVITY = 9.80665
PVC_ROUGHNESS_M = 1.5e-6
_LAMINAR_BELOW = 2040.0


def water_density(temp_c: float) -> float:
    """Return the density of water [kg/m3] at 0 to 45 °C, ValueError outside.

    >>> water_density(25)
    997.07
    """
    require_between("temp_c", temp_c, 0, 45)
    warm = (temp_c + 288.9414) / (508929.2 * (temp_c + 68.12963))
    return 1000 * (1 - warm * (temp_c - 3.9863) ** 2)


def water_viscosity(temp_c: float) -> float:
    """Return the dynamic viscosity of water [Pa s] at 0 to 45 °C, ValueError outside.

    >>> water_viscosity(20) * 1000
    1.002
    """
    require_between("temp_c", temp_c, 0, 45)
    return 2.414e-5 * math.pow(10, 247.8 / (temp_c + 273.15 - 140))


def box_l(length_m: float, width_m: float, depth_m: float) -> float:
    """Return the litres of water in a box. References: geometry.

    >>> box_l(1.2, 1.0, 0.25)
    300.0
    """
    return (
        require("length_m", length_m)
        * require("width_m", width_m)
        * require("depth_m", depth_m)
        * 1000
    )


def upright_cylinder_l(diameter_m: float, depth_m: float) -> float:
    """Return the litres in an upright cylinder filled to ``depth_m``. References: geometry.

    >>> upright_cylinder_l(1.5, 0.8)
    1413.7
    """
    return math.pi / 4 * require("diameter_m", diameter_m) ** 2 * require("depth_m", depth_m) * 1000


def horizontal_cylinder_l(diameter_m: float, length_m: float, depth_m: float) -> float:
    """Return the litres in a lying cylinder filled to ``depth_m``, at most its diameter.

    References: geometry.

    >>> horizontal_cylinder_l(1.0, 1.2, 0.3)
    237.80
    """
    radius = require("diameter_m", diameter_m) / 2
    require_between("depth_m", depth_m, 0, diameter_m)
    above = radius - depth_m
    sector = radius**2 * math.acos(max(-1.0, min(1.0, above / radius)))
    triangle = above * math.sqrt(max(0.0, 2 * radius * depth_m - depth_m**2))
    return require("length_m", length_m) * (sector - triangle) * 1000


def cone_bottom_l(
    diameter_m: float, cone_height_m: float, cylinder_height_m: float, depth_m: float | None = None
) -> float:
    """Return the litres in a cylinder on a cone, filled to ``depth_m`` from the tip or full.

    References: geometry.

    >>> cone_bottom_l(1.0, 0.4, 0.6)
    575.96
    >>> cone_bottom_l(1.0, 0.4, 0.6, 0.2)
    13.09
    """
    radius = require("diameter_m", diameter_m) / 2
    require("cone_height_m", cone_height_m)
    require("cylinder_height_m", cylinder_height_m)
    whole = cone_height_m + cylinder_height_m
    depth = whole if depth_m is None else require_between("depth_m", depth_m, 0, whole)
    in_cone = min(depth, cone_height_m)
    cone = math.pi / 3 * (radius * in_cone / cone_height_m) ** 2 * in_cone
    cylinder = math.pi * radius**2 * max(0.0, depth - cone_height_m)
    return (cone + cylinder) * 1000


def frustum_l(top_diameter_m: float, bottom_diameter_m: float, depth_m: float) -> float:
    """Return the litres in a round tub that widens upward; diameters at water line and floor.

    References: geometry.

    >>> frustum_l(1.2, 1.0, 0.7)
    667.06
    """
    top = require("top_diameter_m", top_diameter_m) / 2
    bottom = require("bottom_diameter_m", bottom_diameter_m) / 2
    return math.pi / 3 * require("depth_m", depth_m) * (top**2 + top * bottom + bottom**2) * 1000


def gravel_bed_l(length_m: float, width_m: float, depth_m: float, void_fraction: float) -> float:
    """Return the litres of water between the stones of a bed flooded to ``depth_m``.

    References: geometry.

    >>> gravel_bed_l(1.2, 1.0, 0.25, 0.45)
    135.0
    """
    return box_l(length_m, width_m, depth_m) * require("void_fraction", void_fraction)


def settler_m2(flow_l_h: float, surface_load_m_day: float) -> float:
    """Return the surface [m2] of a settler for a flow [L/h] at a surface load [m3/m2/day].

    Valid range: 1 to 999 999 L/h, 1 to 1000 m3/m2/day; ValueError outside.
    References: davidson2005 (268 m/day, a radial settler on a tank's bottom drain).

    >>> settler_m2(1000, 100)
    0.24
    """
    day_m3 = require("flow_l_h", flow_l_h) * 24 / 1000
    return day_m3 / require("surface_load_m_day", surface_load_m_day)


def circle_m(area_m2: float) -> float:
    """Return the diameter [m] of a circle of that area. References: geometry.

    >>> circle_m(0.24)
    0.553
    """
    return 2 * math.sqrt(require("area_m2", area_m2) / math.pi)


@dataclass(frozen=True)
class Pumping:
    """What a pump must do: head with the static lift [m], velocity [m/s], electrical watts."""

    head_m: float
    velocity_m_s: float
    watts: float
    friction_m: float
    reynolds: float


def friction_factor(reynolds: float, relative_roughness: float) -> float:
    """Return Darcy's friction factor: 64/Re below 2040, else Swamee and Jain.

    Valid range: Re above 0 to 1e8, roughness 0 to 0.05; ValueError outside.
    References: swamee1976.

    >>> friction_factor(14097, 1.5e-6 / 0.025)
    0.0284
    """
    require("reynolds", reynolds)
    require("relative_roughness", relative_roughness)
    if reynolds < _LAMINAR_BELOW:
        return 64 / reynolds
    return 0.25 / math.log10(relative_roughness / 3.7 + 5.74 / math.pow(reynolds, 0.9)) ** 2


def pump_head(
    flow_l_h: float,
    pipe_id_mm: float,
    length_m: float,
    fittings_k: float,
    static_m: float,
    temp_c: float,
    efficiency: float = 0.30,
) -> Pumping:
    """Return head, velocity and power of a pump that lifts through a PVC pipe (1.5e-6 m).

    Parameters: flow [L/h], inner diameter [mm], pipe [m], sum of K, static lift [m], water [°C],
    efficiency of pump and motor together (small pumps 0.2 to 0.4).
    Valid range: those of the quantities, 0 to 45 °C; ValueError outside. References: swamee1976.

    >>> pump_head(1000, 25, 5, 6, 1.2, 20).head_m
    1.391
    """
    flow = require("flow_l_h", flow_l_h) / 3.6e6
    diameter = require("pipe_id_mm", pipe_id_mm) / 1000
    require_between("length_m", length_m, 0, 1000)
    require("fittings_k", fittings_k)
    require("static_m", static_m)
    require("efficiency", efficiency)
    density = water_density(temp_c)
    velocity = flow / (math.pi / 4 * diameter**2)
    reynolds = density * velocity * diameter / water_viscosity(temp_c)
    factor = friction_factor(reynolds, PVC_ROUGHNESS_M / diameter)
    friction = (factor * length_m / diameter + fittings_k) * velocity**2 / (2 * GRAVITY)
    head = static_m + friction
    return Pumping(
        head_m=head,
        velocity_m_s=velocity,
        watts=density * GRAVITY * flow * head / efficiency,
        friction_m=friction,
        reynolds=reynolds,
    )


def siphon_l_min(
    pipe_id_mm: float, drop_m: float, length_m: float, fittings_k: float, temp_c: float = 25.0
) -> float:
    """Return the flow [L/min] of a full siphon that falls ``drop_m``.

    Valid range: drop 0.01 to 10 m, length 0.01 to 100 m, K 1 to 500 (the exit counts 1);
    ValueError outside. References: swamee1976.

    >>> round(siphon_l_min(25, 0.5, 1, 2))
    47
    """
    diameter = require("pipe_id_mm", pipe_id_mm) / 1000
    require("drop_m", drop_m)
    require_between("length_m", length_m, 0.01, 100)
    require_between("fittings_k", fittings_k, 1, 500)
    kinematic = water_viscosity(temp_c) / water_density(temp_c)
    factor = 0.02
    velocity = 0.0
    for _ in range(30):
        losses = 1 + factor * length_m / diameter + fittings_k
        velocity = math.sqrt(2 * GRAVITY * drop_m / losses)
        factor = friction_factor(velocity * diameter / kinematic, PVC_ROUGHNESS_M / diameter)
    return velocity * math.pi / 4 * diameter**2 * 60_000
