"""Vectors for coolant, half water and half ethylene glycol by volume: its properties, flows and rises.

CoolProp's incompressible fluid counts the glycol by mass; half by volume is 52.6 % by mass, from the densities of water
and of pure glycol (1113 kg/m3 at 20 C, CRC Handbook of Chemistry and Physics, from memory).
"""

from CoolProp.CoolProp import PropsSI

PRESSURE = 2e5
WATER = PropsSI("D", "T", 293.15, "P", PRESSURE, "Water")
GLYCOL = 1113.0
MIXTURE = f"INCOMP::MEG-{100 * GLYCOL / (GLYCOL + WATER):.2f}%"


def of_mixture(what, celsius):
    return PropsSI(what, "T", celsius + 273.15, "P", PRESSURE, MIXTURE)


def coolant_properties():
    for celsius in (2, 11, 24, 37, 48, 60, 71, 83, 92, 99):
        yield {
            "temperature_C": celsius,
            "expected_density_kg_per_m3": of_mixture("D", celsius),
            "expected_specific_heat_J_per_kg_K": of_mixture("C", celsius),
            "tolerance": "2e-2 relative",
            "source": "CoolProp 8.0.0 INCOMP::MEG (Melinder 2010); tolerance: straight lines against the library's polynomials",
        }


def coolant_flow():
    """By enthalpies in and out of the heater instead of a specific heat."""
    for kilowatts, litres_a_minute, mean in (
        (5.0, 8.3, 60), (5.0, 12.0, 60), (2.4, 8.0, 60), (9.0, 14.5, 72), (1.5, 3.1, 41), (12.0, 33.0, 65),
    ):
        mass_flow = litres_a_minute / 60e3 * of_mixture("D", mean)
        # Half of the rise lies below the mean and half above it.
        rise, step = 0.0, 8.0
        while step > 1e-10:
            carried = mass_flow * (of_mixture("H", mean + rise / 2) - of_mixture("H", mean - rise / 2))
            if carried < kilowatts * 1e3:
                rise += step
            else:
                rise, step = max(0.0, rise - step), step / 2
        yield {
            "heat_kW": kilowatts,
            "flow_L_per_min": litres_a_minute,
            "mean_C": mean,
            "expected_rise_K": rise,
            "tolerance": "2e-2 relative",
            "source": "CoolProp 8.0.0 INCOMP::MEG enthalpies (Melinder 2010); tolerance as the properties",
        }


MAKERS = (coolant_properties, coolant_flow)
