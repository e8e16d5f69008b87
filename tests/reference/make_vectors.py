"""Makes the reference vectors in vectors/*.csv from general-purpose libraries; `--check` compares instead of writing.

Each row carries its inputs with their units, the expected values (columns `expected_...`), a tolerance and its source.
Nothing here is taken from the code under test: where a law is simple, another route to its answer is used
(a root finder, an integrator, a bounded least-squares solver, a units library).
"""

import csv
import math
import pathlib
import sys

import ambiance
import fluids
import numpy
import pint
from CoolProp.CoolProp import PropsSI
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq, lsq_linear

import vectors_combustion
import vectors_coolant
import vectors_heat
import vectors_network
import vectors_supply

HERE = pathlib.Path(__file__).resolve().parent / "vectors"
UNITS = pint.UnitRegistry()
AMBIENT_PRESSURE = 101325.0
DRIFT = 1e-9


def standard_atmosphere():
    """The library implements the ICAO standard atmosphere (1993), equal to the US one of 1976 below 32 km."""
    for altitude in (-400, -120, 85, 310, 640, 905, 1260, 1545, 1890, 2240, 2400, 2755, 3105, 3620, 4190, 4810, 5700):
        there = ambiance.Atmosphere(altitude)
        yield {
            "altitude_m": altitude,
            "expected_temperature_K": there.temperature[0],
            "expected_pressure_Pa": there.pressure[0],
            "expected_density_kg_per_m3": there.density[0],
            "tolerance": "2e-5 relative",
            "source": "ambiance 1.3.1 (ICAO Doc 7488); tolerance: gas constant and molar mass differ in the sixth digit",
        }


def air_on_the_day():
    """Standard pressure there, the day's own temperature, real-gas equation of state."""
    for altitude, celsius in (
        (0, -38), (0, -15), (0, 5), (0, 20), (0, 36), (430, -22), (820, 12), (1180, -30), (1500, 25),
        (1930, -8), (2400, -20), (2400, 20), (2870, 3), (3300, -33), (4050, -12),
    ):
        pressure = ambiance.Atmosphere(altitude).pressure[0]
        yield {
            "altitude_m": altitude,
            "temperature_C": celsius,
            "expected_density_kg_per_m3": PropsSI("D", "T", celsius + 273.15, "P", pressure, "Air"),
            "tolerance": "2e-3 relative",
            "source": "ambiance 1.3.1 pressure, CoolProp 8.0.0 Air (Lemmon 2000); tolerance: ideal gas against real gas",
        }


def air_properties():
    for celsius in (-40, -27, -11, 0, 8, 20, 33, 47, 62, 78, 95, 118):
        state = ("T", celsius + 273.15, "P", AMBIENT_PRESSURE, "Air")
        yield {
            "temperature_C": celsius,
            "expected_viscosity_Pa_s": PropsSI("V", *state),
            "expected_heat_for_1_kg_per_s_and_1_K_W": PropsSI("C", *state),
            "tolerance": "1e-2 relative",
            "source": "CoolProp 8.0.0 Air (Lemmon 2000, Lemmon and Jacobsen 2004); tolerance: Sutherland's law, constant c_p",
        }


def friction_factor():
    for reynolds in (37.0, 410.0, 1333.0, 2039.0, 2041.0, 2900.0, 5200.0, 11400.0, 26000.0, 73500.0, 4.1e5, 3.3e6):
        for roughness in (0.0, 8e-5, 1.7e-3, 0.012, 0.045):
            if reynolds < 2040:
                factor, route = 64.0 / reynolds, "Hagen-Poiseuille"
            else:
                # The implicit equation by a bracketing root finder, and the library's closed form must agree.
                def unbalance(x, reynolds=reynolds, roughness=roughness):
                    return x + 2 * math.log10(roughness / 3.7 + 2.51 * x / reynolds)

                factor = brentq(unbalance, 0.5, 60, xtol=1e-15, rtol=1e-15) ** -2
                assert abs(fluids.friction.Colebrook(reynolds, roughness) / factor - 1) < 1e-9
                route = "Colebrook 1939, scipy 1.17.1 brentq and fluids 1.3.1 Colebrook"
            yield {
                "reynolds": reynolds,
                "relative_roughness": roughness,
                "expected_friction_factor": factor,
                "tolerance": "1e-9 relative",
                "source": route,
            }


def bend_loss():
    for degrees in (7, 22.5, 37, 60, 90, 118, 180):
        for ratio in (0.6, 1.0, 1.7, 3.2, 8.0):
            factor = 0.019 + 0.0007 * ratio + degrees * 3e-5
            yield {
                "angle_deg": degrees,
                "radius_over_bore": ratio,
                "friction_factor": factor,
                "expected_loss_coefficient": fluids.bend_rounded(
                    Di=0.06, angle=degrees, fd=factor, rc=0.06 * ratio, method="Rennels"
                ),
                "tolerance": "1e-9 relative",
                "source": "fluids 1.3.1 bend_rounded, method Rennels (Rennels and Hudson 2012)",
            }


def widening_loss():
    for narrow, wide in ((22, 24), (55, 60), (60, 75), (60, 90), (75, 100), (24, 80), (90, 90)):
        yield {
            "narrow_mm": narrow,
            "wide_mm": wide,
            "expected_loss_coefficient": fluids.diffuser_sharp(narrow, wide),
            "tolerance": "1e-9 relative",
            "source": "fluids 1.3.1 diffuser_sharp (Borda-Carnot)",
        }


def duct_loss():
    for bore, length, roughness, fittings, flow, celsius, altitude in (
        (60, 1.4, 0.9, 1.2, 58, 20, 0), (60, 3.1, 0.05, 0.4, 92, 85, 0), (75, 2.2, 0.9, 2.3, 105, 60, 350),
        (75, 6.7, 0.09, 0.0, 140, 95, 0), (90, 4.4, 0.9, 3.6, 175, 70, 1250), (90, 0.6, 0.0, 1.57, 230, 40, 0),
        (100, 8.3, 0.15, 2.8, 310, -10, 700), (24, 1.1, 0.3, 0.9, 21, 220, 0), (24, 2.4, 0.6, 1.9, 26, 340, 1900),
        (25, 0.8, 0.4, 1.1, 17, -25, 0), (22, 0.5, 0.0, 0.57, 1.1, 15, 0), (60, 2.0, 0.9, 1.0, 3.1, 25, 2400),
        (80, 5.5, 3.0, 0.7, 120, 55, 0), (75, 1.9, 0.01, 5.1, 66, 30, 2050),
    ):
        pressure = ambiance.Atmosphere(altitude).pressure[0]
        density = PropsSI("D", "T", celsius + 273.15, "P", pressure, "Air")
        viscosity = PropsSI("V", "T", celsius + 273.15, "P", pressure, "Air")
        diameter = bore / 1000
        speed = flow / 3600 / (math.pi / 4 * diameter**2)
        reynolds = fluids.Reynolds(V=speed, D=diameter, rho=density, mu=viscosity)
        factor = fluids.friction_factor(Re=reynolds, eD=roughness / bore)
        loss = fluids.dP_from_K(fluids.K_from_f(factor, length, diameter) + fittings, density, speed)
        yield {
            "bore_mm": bore,
            "length_m": length,
            "roughness_mm": roughness,
            "fittings": fittings,
            "flow_m3_per_h": flow,
            "density_kg_per_m3": density,
            "viscosity_Pa_s": viscosity,
            "expected_loss_Pa": loss,
            "tolerance": "1e-6 relative",
            "source": "fluids 1.3.1 friction_factor, K_from_f, dP_from_K",
        }


def fuel_line():
    for bore, length, flow, viscosity, density, rise in (
        (1.5, 4.2, 0.11, 2.9, 829, 0.4), (1.5, 0.9, 0.47, 7.5, 851, -0.6), (2.0, 5.6, 0.23, 10.9, 856, 0.75),
        (2.0, 7.9, 0.62, 3.3, 828, 0.0), (2.0, 2.5, 0.38, 24.3, 871, 1.3), (2.4, 3.3, 0.54, 5.5, 843, -0.25),
        (3.0, 1.2, 0.71, 14.9, 862, 0.15), (4.0, 1.85, 0.29, 2.6, 814, 0.5), (5.0, 0.7, 1.4, 43.8, 869, -1.1),
        (1.8, 6.4, 0.08, 0.62, 741, 0.9), (2.5, 2.1, 0.66, 0.85, 768, 0.33), (6.0, 2.8, 2.2, 4.0, 832, 2.0),
    ):
        diameter, stream = bore / 1000, flow / 3.6e6
        kinematic = viscosity * 1e-6
        speed = stream / (math.pi / 4 * diameter**2)
        reynolds = fluids.Reynolds(V=speed, D=diameter, nu=kinematic)
        factor = fluids.friction_factor(Re=reynolds)
        loss = fluids.dP_from_K(fluids.K_from_f(factor, length, diameter), density, speed)
        # The parabolic profile of that gradient, integrated, must carry the flow that was put in.
        gradient = loss / length
        profile = lambda r: gradient / (4 * density * kinematic) * ((diameter / 2) ** 2 - r * r) * 2 * math.pi * r
        assert abs(quad(profile, 0, diameter / 2)[0] / stream - 1) < 1e-9
        head = (density * UNITS("kg/m^3") * UNITS.standard_gravity * rise * UNITS.m).to("Pa").magnitude
        yield {
            "bore_mm": bore,
            "length_m": length,
            "flow_L_per_h": flow,
            "viscosity_mm2_per_s": viscosity,
            "density_kg_per_m3": density,
            "rise_m": rise,
            "expected_velocity_m_per_s": speed,
            "expected_reynolds": reynolds,
            "expected_friction_Pa": loss,
            "expected_static_Pa": head,
            "expected_transit_s": length / speed,
            "tolerance": "1e-9 relative",
            "source": "fluids 1.3.1 friction_factor, dP_from_K; scipy 1.17.1 quad of the parabola; pint 0.25.3",
        }


def bubble_bore():
    for liquid, gas, tension in ((832, 1.2, 28), (856, 1.45, 30.5), (745, 3.0, 21), (688, 1.1, 19.4), (998.2, 1.2, 72.8)):
        bond = lambda bore: fluids.Bond(rhol=liquid, rhog=gas, sigma=tension / 1000, L=bore / 2) - 0.842
        yield {
            "liquid_kg_per_m3": liquid,
            "gas_kg_per_m3": gas,
            "tension_mN_per_m": tension,
            "expected_bore_mm": 1000 * brentq(bond, 1e-5, 0.1, xtol=1e-16, rtol=1e-14),
            "tolerance": "1e-9 relative",
            "source": "fluids 1.3.1 Bond on the radius, scipy 1.17.1 brentq; critical 0.842 (Bretherton 1961)",
        }


def fuel_viscosity():
    """Rise of viscosity from 40 °C (diesel) and 20 °C (petrol): pure fluids stand for the fuels."""

    def viscosity(name, celsius):
        state = ("T", celsius + 273.15, "P", AMBIENT_PRESSURE, name)
        return PropsSI("V", *state) / PropsSI("D", *state) * 1e6

    for celsius in (-8, -2, 5, 12, 25, 55, 70):
        # Walther's straight line of n-dodecane: its slope is what the diesel figures borrow.
        line = lambda at: math.log10(math.log10(viscosity("n-Dodecane", at) + 0.7))
        slope = (line(celsius) - line(40)) / math.log10(313.15 / (celsius + 273.15))
        yield {
            "fuel": "diesel",
            "temperature_C": celsius,
            "expected_slope": slope,
            "tolerance": "0.01 relative" if celsius < 40 else "0.045 relative",
            "source": "CoolProp 8.0.0 n-dodecane, ASTM D341 form; tolerance: straight in the cold; at 70 C the slope errs by 4.4 %, the viscosity by 2 %",
        }
    for celsius in (-45, -30, -18, -5, 8, 20, 35, 50):
        yield {
            "fuel": "petrol",
            "temperature_C": celsius,
            "expected_viscosity_mm2_per_s": viscosity("n-Heptane", celsius),
            "tolerance": "0.04 relative",
            "source": "CoolProp 8.0.0 n-heptane; tolerance: a two-constant exponential over 100 K",
        }


def fuel_density():
    for name, fuel, tolerance in (("n-Dodecane", "diesel", "2e-3"), ("n-Heptane", "petrol", "8e-3")):
        base = PropsSI("D", "T", 288.15, "P", AMBIENT_PRESSURE, name)
        for celsius in (-9, 0, 15, 28, 44, 63):
            yield {
                "fuel": fuel,
                "density_at_15_C_kg_per_m3": base,
                "temperature_C": celsius,
                "expected_density_kg_per_m3": PropsSI("D", "T", celsius + 273.15, "P", AMBIENT_PRESSURE, name),
                "tolerance": f"{tolerance} relative",
                "source": f"CoolProp 8.0.0 {name}; tolerance: a pure fluid against a correlation for blends",
            }


def fuel_consumption():
    for fuel, kilowatts, efficiency, heating, density in (
        ("diesel", 0.85, 0.78, 42.84, 832), ("diesel", 2.1, 0.81, 42.84, 845), ("diesel", 4.6, 0.76, 42.84, 820),
        ("petrol", 1.9, 0.8, 43.0, 745), ("petrol", 0.95, 0.72, 43.0, 760),
    ):
        mass = (kilowatts * UNITS.kW / efficiency / (heating * UNITS("MJ/kg"))).to("kg/s")
        yield {
            "fuel": fuel,
            "heat_kW": kilowatts,
            "efficiency": efficiency,
            "density_kg_per_m3": density,
            "expected_mass_flow_kg_per_s": mass.magnitude,
            "expected_volume_flow_L_per_h": (mass / (density * UNITS("kg/m^3"))).to("L/h").magnitude,
            "tolerance": "1e-9 relative",
            "source": "pint 0.25.3; heating values as in the tables",
        }


def gauge_loop():
    """Resistance of an American-gauge loop and its drop, in American units all the way."""
    for number, feet, amperes, celsius in (
        (18, 11, 2.3, 20), (16, 17, 4.1, -31), (14, 9, 9.5, 38), (12, 26, 12.2, -12), (10, 19, 14.7, 55),
        (8, 33, 18.4, 8), (6, 41, 22.5, 71), (4, 12, 60, -40), (2, 8, 95, 30), (0, 15, 140, 25), (-3, 21, 200, 45),
    ):
        inches = 0.005 * 92 ** ((36 - number) / 39)
        circular_mil = math.pi / 4 * UNITS.thou**2  # pint reads "mil" as an angle
        area = (inches * 1000) ** 2 * circular_mil
        resistivity = UNITS("ohm mm^2 / m") / 58 * (1 + 0.00393 * (celsius - 20))
        resistance = (resistivity * 2 * feet * UNITS.foot / area).to("milliohm")
        yield {
            "gauge_number": number,
            "one_way_ft": feet,
            "current_A": amperes,
            "temperature_C": celsius,
            "expected_area_mm2": area.to("mm^2").magnitude,
            "expected_loop_mohm": resistance.magnitude,
            "expected_drop_V": (resistance * amperes * UNITS.A).to("V").magnitude,
            "tolerance": "1e-9 relative",
            "source": "pint 0.25.3 on ASTM B258 and IEC 60028",
        }


def constant_power():
    for volts, milliohms, watts in (
        (12.7, 28, 118), (12.2, 55, 142), (11.8, 12, 9.5), (25.1, 90, 260), (13.2, 0, 75), (24.0, 210, 35), (12.0, 240, 149),
    ):
        resistance = milliohms / 1000
        if resistance == 0:
            current = watts / volts
        else:
            peak = volts / (2 * resistance)
            current = brentq(lambda i: (volts - i * resistance) * i - watts, 0, peak, xtol=1e-14, rtol=1e-14)
        yield {
            "open_circuit_V": volts,
            "resistance_mohm": milliohms,
            "power_W": watts,
            "expected_current_A": current,
            "expected_voltage_V": volts - current * resistance,
            "tolerance": "1e-9 relative",
            "source": "scipy 1.17.1 brentq on (U - I R) I = P",
        }


def discharge():
    for capacity, hours, amperes, exponent in ((95, 20, 6.2, 1.2), (70, 20, 1.8, 1.14), (110, 10, 21, 1.27), (100, 5, 9, 1.0)):
        # Peukert's law says I^k t is the same at every current: found as the root, not by the closed form.
        rated = capacity / hours
        constant = math.log(rated) * exponent + math.log(hours)
        time = brentq(lambda t: math.log(amperes) * exponent + math.log(t) - constant, 1e-3, 1e4, xtol=1e-13, rtol=1e-14)
        yield {
            "capacity_Ah": capacity,
            "rated_over_h": hours,
            "current_A": amperes,
            "exponent": exponent,
            "expected_time_h": time,
            "tolerance": "1e-9 relative",
            "source": "scipy 1.17.1 brentq on Peukert 1897",
        }


def short_circuit():
    """Copper heated by I² R with its resistance rising, no heat lost: the equation itself, integrated."""
    for area, amperes, initial, limit in ((0.75, 95, 40, 160), (1.5, 210, 70, 160), (2.5, 180, 30, 250), (6, 900, 60, 105), (16, 2400, 90, 250)):

        def rate(time, temperature, area=area, amperes=amperes):
            resistivity = (1 / 58e3) * (234.5 + temperature[0]) / (234.5 + 20)
            return [resistivity * (amperes / area) ** 2 / 3.45e-3]

        reached = lambda time, temperature, limit=limit: temperature[0] - limit
        reached.terminal = True
        run = solve_ivp(rate, (0, 1e4), [initial], events=reached, method="DOP853", rtol=1e-12, atol=1e-10)
        yield {
            "area_mm2": area,
            "current_A": amperes,
            "initial_C": initial,
            "limit_C": limit,
            "expected_time_s": run.t_events[0][0],
            "tolerance": "1e-6 relative",
            "source": "scipy 1.17.1 solve_ivp of the adiabatic heat balance (constants of IEC 60364-5-54 annex A)",
        }


def warm_up():
    for start, outside, target, watts, loss, capacity in (
        (-18, -18, 20, 2900, 41, 310e3), (4, -2, 18, 1700, 55, 190e3), (10, -25, 22, 4100, 73, 520e3),
        (-5, -5, 5, 800, 60, 95e3), (15, 0, 21, 1500, 48, 240e3),
    ):
        rate = lambda time, temperature: [(watts - loss * (temperature[0] - outside)) / capacity]
        reached = lambda time, temperature, target=target: temperature[0] - target
        run = solve_ivp(rate, (0, 2e5), [start], events=reached, method="DOP853", rtol=1e-12, atol=1e-10, max_step=2000)
        hour = solve_ivp(rate, (0, 3600), [start], method="DOP853", rtol=1e-12, atol=1e-10)
        yield {
            "start_C": start,
            "outside_C": outside,
            "target_C": target,
            "heat_W": watts,
            "loss_W_per_K": loss,
            "capacity_J_per_K": capacity,
            "expected_time_s": run.t_events[0][0],
            "expected_after_one_hour_K": hour.y[0][-1] + 273.15,
            "tolerance": "1e-7 relative",
            "source": "scipy 1.17.1 solve_ivp of the first-order heat balance",
        }


def sensor_bias():
    """Two streams mixed by mass and weighed by the gas law's own enthalpy; the room that makes the mix read the set-point."""
    for setting, other, share in ((20, 5, 0.25), (18, -12, 0.4), (21, -20, 0.15), (20, 75, 0.1), (22, 48, 0.3), (19, 19, 0.6), (16, -3, 0.0)):
        enthalpy = lambda celsius: PropsSI("H", "T", celsius + 273.15, "P", AMBIENT_PRESSURE, "Air")
        mix = lambda room: (1 - share) * enthalpy(room) + share * enthalpy(other) - enthalpy(setting)
        yield {
            "set_C": setting,
            "other_C": other,
            "share_of_other": share,
            "expected_bias_K": brentq(mix, -120, 200, xtol=1e-12) - setting,
            "tolerance": "0.03 absolute",
            "source": "CoolProp 8.0.0 enthalpy of air, scipy 1.17.1 brentq; tolerance: constant c_p",
        }


def wall():
    for layers, inner, outer in (
        ("0.7/50", 0.13, 0.04), ("0.8/50;19/0.037;4/0.13", 0.13, 0.04), ("1.1/50;40/0.023;9/0.15", 0.10, 0.04),
        ("1/160;25/0.034;12/0.13;3/0.17", 0.17, 0.04), ("4/1.0", 0.13, 0.04), ("3/0.18;20/0.026;3/0.18", 0.10, 0.02),
    ):
        total = (inner + outer) * UNITS("m^2 K/W")
        for layer in layers.split(";"):
            thickness, conductivity = layer.split("/")
            total += float(thickness) * UNITS.mm / (float(conductivity) * UNITS("W/(m K)"))
        yield {
            "layers_mm_per_W_m_K": layers,
            "inner_m2K_per_W": inner,
            "outer_m2K_per_W": outer,
            "expected_transmittance_W_per_m2K": (1 / total).to("W/(m^2 K)").magnitude,
            "tolerance": "1e-9 relative",
            "source": "pint 0.25.3 on ISO 6946",
        }


def infiltration():
    for volume, rate, inside, outside, altitude in ((9.5, 0.8, 20, -15, 0), (13, 2.0, 18, -30, 350), (6.2, 0.5, 22, 3, 1600), (11, 1.2, 20, -38, 0)):
        pressure = ambiance.Atmosphere(altitude).pressure[0]
        state = lambda celsius: ("T", celsius + 273.15, "P", pressure, "Air")
        flow = volume * rate / 3600
        mass = flow * PropsSI("D", *state(outside))
        heat = mass * (PropsSI("H", *state(inside)) - PropsSI("H", *state(outside)))
        yield {
            "volume_m3": volume,
            "changes_per_h": rate,
            "inside_C": inside,
            "outside_C": outside,
            "altitude_m": altitude,
            "expected_heat_W": heat,
            "tolerance": "4e-3 relative",
            "source": "CoolProp 8.0.0 density outside and enthalpies of air; tolerance: ideal gas, constant c_p",
        }


def cells(*points):
    return ";".join(" ".join(repr(float(value)) for value in point) for point in points)


def bounded_distance(matrix, offset, low, high):
    """Least norm of matrix @ x + offset over a box of x: a convex problem with an exact active-set solver."""
    answer = lsq_linear(matrix, -offset, bounds=(low, high), method="bvls", tol=1e-15, max_iter=2000)
    return float(numpy.linalg.norm(matrix @ answer.x + offset))


def segment_pairs():
    random = numpy.random.default_rng(20260214)
    fixed = [
        ("crossing", [(0, 0, 0), (2, 0, 0), (1, -1, 0), (1, 1, 0)]),
        ("over one another", [(0, 0, 0), (2, 0, 0), (1, -1, 0.3), (1, 1, 0.3)]),
        ("parallel, overlapping", [(0, 0, 0), (2, 0, 0), (1, 0.4, 0), (3, 0.4, 0)]),
        ("parallel, apart", [(0, 0, 0), (1, 0, 0), (1.5, 0.4, 0), (3, 0.4, 0)]),
        ("nearly parallel", [(0, 0, 0), (4, 0, 0), (0, 0.2, 0), (4, 0.2000001, 0)]),
        ("in line, apart", [(0, 0, 0), (1, 1, 1), (2, 2, 2), (3, 3, 3)]),
        ("end to middle", [(0, 0, 0), (0, 0, 3), (0.7, 0, 1.1), (2, 0, 1.1)]),
    ]
    for _ in range(25):
        fixed.append(("drawn at random", numpy.round(random.uniform(-3, 3, (4, 3)), 3).tolist()))
    for case, (a, b, c, d) in fixed:
        a, b, c, d = (numpy.array(point, dtype=float) for point in (a, b, c, d))
        matrix = numpy.column_stack((b - a, -(d - c)))
        yield {
            "case": case,
            "points_m": cells(a, b, c, d),
            "expected_distance_m": bounded_distance(matrix, a - c, [0, 0], [1, 1]),
            "tolerance": "1e-8 absolute",
            "source": "scipy 1.17.1 lsq_linear (bounded least squares)",
        }


def segments_and_boxes():
    random = numpy.random.default_rng(20260215)
    fixed = [
        ("through", [(-1, 0.5, 0.5), (3, 0.5, 0.5), (0, 0, 0), (1, 1, 1)]),
        ("inside", [(0.2, 0.5, 0.5), (0.6, 0.4, 0.5), (0, 0, 0), (1, 1, 1)]),
        ("past an edge", [(-1, 0, 1.5), (1, 2, 2.5), (0, 0, 0), (1, 1, 1)]),
        ("past a corner", [(3, 0, 0), (0, 3, 3), (0, 0, 0), (1, 1, 1)]),
        ("along a face", [(-2, 1.25, 0.5), (3, 1.25, 0.5), (0, 0, 0), (1, 1, 1)]),
        ("flat box", [(-1, -1, 2), (2, 2, 0.5), (0, 0, 0), (1, 1, 0)]),
    ]
    for _ in range(22):
        ends = numpy.round(random.uniform(-3, 3, (2, 3)), 3)
        corners = numpy.round(random.uniform(-1.5, 1.5, (2, 3)), 3)
        fixed.append(("drawn at random", [*ends.tolist(), *corners.tolist()]))
    for case, (a, b, one, other) in fixed:
        a, b, one, other = (numpy.array(point, dtype=float) for point in (a, b, one, other))
        low, high = numpy.minimum(one, other), numpy.maximum(one, other)
        # A flat side leaves its coordinate no freedom: it goes into the offset instead.
        free = [axis for axis in range(3) if high[axis] > low[axis]]
        offset = a.copy()
        offset[[axis for axis in range(3) if axis not in free]] -= low[[axis for axis in range(3) if axis not in free]]
        matrix = numpy.column_stack([b - a] + [-numpy.eye(3)[axis] for axis in free])
        distance = bounded_distance(matrix, offset, [0, *low[free]], [1, *high[free]])
        yield {
            "case": case,
            "points_m": cells(a, b, one, other),
            "expected_distance_m": distance,
            "tolerance": "1e-8 absolute",
            "source": "scipy 1.17.1 lsq_linear (bounded least squares)",
        }


def box_pairs():
    random = numpy.random.default_rng(20260216)
    for _ in range(14):
        corners = numpy.round(random.uniform(-2, 2, (4, 3)), 3)
        low = [numpy.minimum(corners[0], corners[1]), numpy.minimum(corners[2], corners[3])]
        high = [numpy.maximum(corners[0], corners[1]), numpy.maximum(corners[2], corners[3])]
        matrix = numpy.hstack((numpy.eye(3), -numpy.eye(3)))
        distance = bounded_distance(matrix, numpy.zeros(3), numpy.concatenate(low), numpy.concatenate(high))
        yield {
            "points_m": cells(*corners),
            "expected_distance_m": distance,
            "tolerance": "1e-8 absolute",
            "source": "scipy 1.17.1 lsq_linear (bounded least squares)",
        }


def routes():
    random = numpy.random.default_rng(20260217)
    for _ in range(12):
        points = numpy.round(random.uniform(-2, 2, (int(random.integers(3, 8)), 3)), 2)
        steps = numpy.diff(points, axis=0)
        unit = steps / numpy.linalg.norm(steps, axis=1)[:, None]
        angles = numpy.arccos(numpy.clip(numpy.sum(unit[1:] * unit[:-1], axis=1), -1, 1))
        yield {
            "points_m": cells(*points),
            "expected_length_m": float(numpy.sum(numpy.linalg.norm(steps, axis=1))),
            "expected_total_bend_deg": float(numpy.degrees(numpy.sum(angles))),
            "expected_rise_m": float(numpy.sum(numpy.clip(steps[:, 2], 0, None))),
            "expected_fall_m": float(-numpy.sum(numpy.clip(steps[:, 2], None, 0))),
            "tolerance": "1e-9 relative",
            "source": "numpy 2.4.6, angle by arc cosine",
        }


MAKERS = (
    standard_atmosphere, air_on_the_day, air_properties, friction_factor, bend_loss, widening_loss, duct_loss,
    fuel_line, bubble_bore, fuel_viscosity, fuel_density, fuel_consumption, gauge_loop, constant_power, discharge,
    short_circuit, warm_up, sensor_bias, wall, infiltration, segment_pairs, segments_and_boxes, box_pairs, routes,
    *vectors_combustion.MAKERS, *vectors_coolant.MAKERS, *vectors_heat.MAKERS, *vectors_network.MAKERS,
    *vectors_supply.MAKERS,
)


def spelled(value):
    if isinstance(value, (float, numpy.floating)):
        return f"{float(value):.13g}"
    return str(value)


def rows_of(maker):
    rows = list(maker())
    columns = []
    for row in rows:
        columns += [name for name in row if name not in columns]
    # Inputs first, then what is expected, then tolerance and source.
    last = ("tolerance", "source")
    rank = lambda name: (name in last, name.startswith("expected_"))
    columns.sort(key=rank)
    return columns, [{name: spelled(row.get(name, "")) for name in columns} for row in rows]


def same(one, other):
    try:
        return math.isclose(float(one), float(other), rel_tol=DRIFT, abs_tol=1e-10)
    except ValueError:
        return one == other


def check():
    drifted = 0
    for maker in MAKERS:
        columns, rows = rows_of(maker)
        with open(HERE / f"{maker.__name__}.csv", newline="", encoding="utf-8") as file:
            kept = list(csv.DictReader(file))
        if len(kept) != len(rows):
            print(f"{maker.__name__}: {len(kept)} rows kept, {len(rows)} computed")
            drifted += 1
        for number, (old, new) in enumerate(zip(kept, rows), start=1):
            for name in columns:
                if not same(old.get(name, ""), new[name]):
                    print(f"{maker.__name__} row {number} {name}: kept {old.get(name)}, computed {new[name]}")
                    drifted += 1
    known = {f"{maker.__name__}.csv" for maker in MAKERS}
    for path in HERE.glob("*.csv"):
        if path.name not in known:
            print(f"{path.name}: nothing makes it")
            drifted += 1
    return drifted


def write():
    HERE.mkdir(exist_ok=True)
    for maker in MAKERS:
        columns, rows = rows_of(maker)
        with open(HERE / f"{maker.__name__}.csv", "w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, columns, lineterminator="\n")
            writer.writeheader()
            writer.writerows(rows)


if __name__ == "__main__":
    if sys.argv[1:] == ["--check"]:
        sys.exit(1 if check() else 0)
    write()
