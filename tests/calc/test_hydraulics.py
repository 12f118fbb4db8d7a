"""Volumes, pump head and siphons against an engineering library."""

import math

import fluids
import pytest

from apps.calc import hydraulics


class TestVolumes:
    @pytest.mark.outside(source="fluids, TANK", kind="computed", tolerance=1e-6)
    def test_upright_cylinder(self, outside):
        tank = fluids.TANK(D=1.5, L=2, horizontal=False)
        outside(hydraulics.upright_cylinder_l(1.5, 0.8), tank.V_from_h(0.8) * 1000)

    @pytest.mark.outside(source="fluids, TANK", kind="computed", tolerance=1e-6)
    @pytest.mark.parametrize("depth", [0.05, 0.3, 0.5, 0.8, 1.0])
    def test_lying_drum(self, depth, outside):
        tank = fluids.TANK(D=1.0, L=1.2, horizontal=True)
        outside(hydraulics.horizontal_cylinder_l(1.0, 1.2, depth), tank.V_from_h(depth) * 1000)

    @pytest.mark.outside(
        source="fluids, TANK with a conical bottom", kind="computed", tolerance=1e-6
    )
    @pytest.mark.parametrize("depth", [0.1, 0.2, 0.4, 0.7, 1.0])
    def test_cone_bottom(self, depth, outside):
        tank = fluids.TANK(D=1.0, L=0.6, horizontal=False, sideA="conical", sideA_a=0.4)
        outside(hydraulics.cone_bottom_l(1.0, 0.4, 0.6, depth), tank.V_from_h(depth) * 1000)

    def test_full_cone_bottom(self):
        assert hydraulics.cone_bottom_l(1.0, 0.4, 0.6) == pytest.approx(575.96, abs=0.01)

    @pytest.mark.outside(source="pi h / 3 (a2 + ab + b2)", kind="computed", tolerance=1e-5)
    def test_frustum(self, outside):
        outside(hydraulics.frustum_l(1.2, 1.0, 0.7), 667.06)

    def test_gravel_bed_holds_its_voids(self):
        assert hydraulics.gravel_bed_l(1.2, 1.0, 0.25, 0.45) == pytest.approx(135)

    def test_a_drum_is_not_deeper_than_wide(self):
        with pytest.raises(ValueError, match="depth_m"):
            hydraulics.horizontal_cylinder_l(1.0, 1.2, 1.1)


# flow, inner diameter, length, sum of K, temperature, static: head with fluids' friction
PUMPS = [
    (1000, 25, 5, 6, 20, 1.2, 1.391),
    (3000, 40, 6, 8, 20, 1.5, 1.761),
    (6000, 50, 10, 10, 25, 1.8, 2.323),
    (10000, 53.6, 12, 9.5, 29, 1.6, 2.660),
]


class TestPumpHead:
    @pytest.mark.outside(
        source="Darcy-Weisbach with fluids' friction factor", kind="computed", tolerance=0.003
    )
    @pytest.mark.parametrize(("flow", "pipe", "length", "k", "temp_c", "static", "head"), PUMPS)
    def test_head(self, flow, pipe, length, k, temp_c, static, head, outside):
        found = hydraulics.pump_head(flow, pipe, length, k, static, temp_c)
        outside(found.head_m, head)
        area = math.pi / 4 * (pipe / 1000) ** 2
        speed = flow / 3.6e6 / area
        outside(found.velocity_m_s, speed)
        factor = fluids.friction_factor(Re=found.reynolds, eD=1.5e-6 / (pipe / 1000))
        loss = (factor * length / (pipe / 1000) + k) * speed**2 / (2 * fluids.constants.g)
        outside(found.head_m, static + loss)

    @pytest.mark.outside(source="fluids, friction_factor", kind="computed", tolerance=0.015)
    @pytest.mark.parametrize("reynolds", [500, 1900, 5e3, 1.4e4, 8e4, 1e6])
    def test_friction_factor(self, reynolds, outside):
        ours = hydraulics.friction_factor(reynolds, 3e-5)
        outside(ours, fluids.friction_factor(Re=reynolds, eD=3e-5))

    @pytest.mark.outside(source="IAPWS viscosity of water, mPa s", kind="computed", tolerance=0.006)
    @pytest.mark.parametrize(
        ("temp_c", "viscosity"), [(10, 1.3059), (20, 1.0016), (25, 0.8900), (30, 0.7972)]
    )
    def test_viscosity(self, temp_c, viscosity, outside):
        outside(hydraulics.water_viscosity(temp_c) * 1000, viscosity)

    @pytest.mark.outside(source="gsw, density of fresh water", kind="computed", tolerance=1e-4)
    @pytest.mark.parametrize("temp_c", [4, 10, 20, 25, 30])
    def test_density(self, temp_c, outside):
        import gsw

        outside(hydraulics.water_density(temp_c), float(gsw.rho(0, gsw.CT_from_t(0, temp_c, 0), 0)))

    def test_watts_follow_from_head_and_flow(self):
        found = hydraulics.pump_head(3000, 40, 6, 8, 1.5, 20, 0.30)
        assert found.watts == pytest.approx(48, abs=0.5)

    def test_refuses_a_pump_without_flow(self):
        with pytest.raises(ValueError, match="flow_l_h"):
            hydraulics.pump_head(0, 40, 6, 8, 1.5, 20)


class TestSiphon:
    @pytest.mark.outside(
        source="v = sqrt(2 g H / (1 + f L / D + K))", kind="computed", tolerance=0.02
    )
    @pytest.mark.parametrize(
        ("pipe", "drop", "length", "k", "litres"),
        [(25, 0.5, 1, 2, 47), (32, 0.6, 1.2, 2.2, 83), (40, 0.4, 1, 2, 113)],
    )
    def test_capacity(self, pipe, drop, length, k, litres, outside):
        outside(hydraulics.siphon_l_min(pipe, drop, length, k), litres)
