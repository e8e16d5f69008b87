"""Reference vectors of the electrical supply and of the fuel a heater takes: makers for `make_vectors.py`.

Nothing here is taken from the code under test: circuits are solved as linear systems, laws in time are integrated, loads of
constant power are found by a root finder, and units are turned by a units library.
"""

import math

import numpy
import pint
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

UNITS = pint.UnitRegistry()
COPPER = 1 / 58.0  # Ω·mm²/m at 20 °C, IEC 60028
# ISO 8820-3: multiple of the rating, longest opening time in s (secondary copy and memory).
GATE = ((1.35, 600.0), (1.60, 50.0), (2.00, 5.0), (3.50, 0.5), (6.00, 0.1))


def gauge_area(number):
    return math.pi / 4 * (0.127 * 92 ** ((36 - number) / 39)) ** 2


def copper(area, length, celsius):
    return COPPER / area * (1 + 0.00393 * (celsius - 20)) * length


def loop_current(volts, resistances):
    """Node voltages of a ring of resistors behind a source, as a linear system; the current through the first."""
    count = len(resistances)
    conductances = [1 / resistance for resistance in resistances]
    matrix = numpy.zeros((count - 1, count - 1))
    right = numpy.zeros(count - 1)
    for node in range(count - 1):
        matrix[node, node] = conductances[node] + conductances[node + 1]
        if node > 0:
            matrix[node, node - 1] = -conductances[node]
        if node < count - 2:
            matrix[node, node + 1] = -conductances[node + 1]
    right[0] = conductances[0] * volts
    nodes = numpy.linalg.solve(matrix, right)
    return (volts - nodes[0]) * conductances[0]


def far_end_short_circuit():
    """A short circuit at the far end of a cable of gauge sizes, its fuse's latest opening, and what the copper bears."""
    for volts, battery, number, length, celsius, rating, others, hot, limit in (
        (12.6, 5.4, 12, 4.5, 40, 20, 9.2, 105, 160), (12.2, 8.1, 14, 9.0, 40, 15, 11.0, 85, 160),
        (12.7, 3.3, 16, 6.5, 20, 10, 14.5, 90, 160), (12.5, 6.0, 10, 11.0, -20, 20, 7.7, 105, 160),
        (25.1, 9.7, 14, 12.5, 40, 10, 12.0, 75, 160), (24.4, 11.2, 16, 17.0, 55, 15, 9.0, 125, 250),
        (13.2, 4.1, 8, 7.2, 38, 30, 6.1, 105, 160), (12.0, 14.0, 18, 8.0, 60, 7.5, 15.0, 60, 160),
        (12.9, 2.6, 6, 3.1, 30, 40, 5.0, 200, 350), (12.4, 7.0, 12, 16.0, 45, 20, 10.0, 105, 160),
        (12.6, 6.5, 14, 14.0, 40, 20, 9.0, 85, 160), (26.4, 5.9, 12, 9.9, -25, 15, 8.0, 90, 160),
    ):
        area = gauge_area(number)
        ring = [battery * 1e-3, others * 1e-3, copper(area, length, celsius), copper(area, length, celsius)]
        current = loop_current(volts, ring)
        multiple = current / rating
        logs = numpy.log(numpy.array(GATE))
        row = {
            "open_circuit_V": volts,
            "battery_mohm": battery,
            "gauge": number,
            "one_way_m": length,
            "copper_C": celsius,
            "fuse_A": rating,
            "other_mohm": others,
            "insulation_C": hot,
            "limit_C": limit,
            "expected_current_A": current,
        }
        if multiple >= 1.35:
            opens = float(numpy.exp(numpy.interp(math.log(min(multiple, 6.0)), logs[:, 0], logs[:, 1])))
            row["expected_longest_opening_s"] = opens
            row["expected_let_through_A2s"] = min(current, 6 * rating) ** 2 * opens
        # Heat of the copper against its resistance, integrated: 3.45e-3 J/(K·mm³), 234.5 °C (IEC 60364-5-54, from memory).
        resistivity = lambda at: COPPER * 1e-3 * (234.5 + at) / (234.5 + 20)
        heat, _ = quad(lambda at: 3.45e-3 / resistivity(at), hot, limit, epsabs=0, epsrel=1e-12)
        row["expected_bears_s"] = heat * area**2 / current**2
        row["tolerance"] = "1e-9 relative"
        row["source"] = "numpy 2.4.6 linear system and log-log interpolation of the ISO 8820-3 gate; scipy 1.17.1 quad of the heat balance"
        yield row


def regulated_heater():
    """A load that holds its power behind a cable and a battery, by a bracketing root finder."""
    for volts, ohms, nominal, amperes in (
        (12.4, 0.061, 12, 9.5), (12.7, 0.033, 12, 8.4), (11.9, 0.094, 12, 10.0), (25.0, 0.12, 24, 5.5), (24.2, 0.21, 24, 6.0),
        (13.1, 0.018, 12, 12.0), (12.2, 0.15, 12, 7.0), (12.6, 0.2, 12, 12.5), (26.1, 0.4, 24, 4.0), (12.0, 0.11, 12, 15.0),
    ):
        watts = nominal * amperes
        current = brentq(lambda current: current * (volts - current * ohms) - watts, 0, volts / (2 * ohms), xtol=1e-13)
        yield {
            "open_circuit_V": volts,
            "resistance_ohm": ohms,
            "nominal_V": nominal,
            "stated_A": amperes,
            "expected_current_A": current,
            "expected_voltage_V": volts - current * ohms,
            "tolerance": "1e-9 relative",
            "source": "scipy 1.17.1 brentq on I (U - I R) = P",
        }


def recharge():
    """The law of charge acceptance integrated in time: the current is the charger's or what the battery accepts."""
    for chemistry, capacity, lacking, amperes in (
        ("lead-acid", 95, 41, 25), ("lead-acid", 95, 60, 10), ("lead-acid", 180, 90, 30), ("lead-acid", 70, 12, 40),
        ("lead-acid", 110, 77, 5.5), ("lithium", 100, 70, 40), ("lithium", 200, 96, 18), ("lithium", 60, 48, 60),
        ("lithium", 100, 30, 7), ("lead-acid", 240, 133, 70),
    ):
        factor, accepts = {"lead-acid": (1.2, 0.4), "lithium": (1.05, 5.0)}[chemistry]
        end = 0.05 * capacity

        def filled(_, lacks):
            return lacks[0] - end

        filled.terminal = True
        flow = lambda _, lacks: [-min(amperes, accepts * lacks[0]) / factor]
        run = solve_ivp(flow, (0, 400), [lacking], events=filled, rtol=1e-11, atol=1e-11, max_step=0.02)
        yield {
            "chemistry": chemistry,
            "capacity_Ah": capacity,
            "lacking_Ah": lacking,
            "charger_A": amperes,
            "expected_hours": run.t_events[0][0],
            "tolerance": "1e-6 relative",
            "source": "scipy 1.17.1 solve_ivp of dm/dt = -min(I, a m) / f (Mas 1967, numbers by common practice)",
        }


def fuel_taken():
    """What a heater takes and makes of it, its pump's strokes, and how long a tank lasts; units turned by a library."""
    quantity = UNITS.Quantity
    for fuel, output, rate, dose, tank, metres, bore, ignition in (
        ("diesel", "2.4 kW", "0.29 L/hour", "0.025 mL", "50 L", 2.26, 2.0, 40), ("diesel", "7500 Btu/hour", "0.073 gal/hour", "0.03 mL", "12 gal", 3.9, 2.0, 40),
        ("diesel", "0.9 kW", "0.11 L/hour", "0.025 mL", "31 L", 1.1, 1.5, 60), ("petrol", "4 kW", "0.58 L/hour", "0.04 mL", "22 L", 5.2, 2.0, 35),
        ("petrol", "850 W", "0.13 L/hour", "0.03 mL", "8 L", 4.1, 4.0, 50), ("diesel", "5 kW", "0.61 L/hour", "0.06 mL", "75 L", 8.3, 2.0, 90),
        ("diesel", "12 kW", "1.4 L/hour", "0.09 mL", "140 L", 3.3, 3.5, 45), ("diesel", "30 kW", "3.9 L/hour", "0.2 mL", "260 L", 6.0, 5.0, 30),
        ("petrol", "2 kW", "0.27 L/hour", "0.028 mL", "17 L", 2.9, 1.6, 120), ("diesel", "1400 Btu/hour", "0.014 gal/hour", "0.03 mL", "5 gal", 2.2, 2.0, 40),
    ):
        heat = {"diesel": quantity(42.84, "MJ/kg") * quantity(832, "kg/m³"), "petrol": quantity(43.0, "MJ/kg") * quantity(745, "kg/m³")}[fuel]
        flow = quantity(rate)
        held = math.pi / 4 * quantity(bore, "mm") ** 2 * quantity(metres, "m")
        yield {
            "fuel": fuel,
            "output_W": quantity(output).m_as("W"),
            "rate_m3_per_s": flow.m_as("m³/s"),
            "dose_mL": quantity(dose).m_as("mL"),
            "usable_L": quantity(tank).m_as("L"),
            "line_m": metres,
            "bore_mm": bore,
            "ignition_s": ignition,
            "expected_efficiency": (quantity(output) / (flow * heat)).m_as(""),
            "expected_strokes_per_s": (flow / quantity(dose)).m_as("1/s"),
            "expected_hours_on_tank": (quantity(tank) / flow).m_as("hour"),
            "expected_runs_to_fill": math.ceil((held / (flow * quantity(ignition, "s"))).m_as("")),
            "tolerance": "1e-9 relative",
            "source": "pint 0.25 units; heating values and densities as the physics cites them",
        }


MAKERS = (far_end_short_circuit, regulated_heater, recharge, fuel_taken)
