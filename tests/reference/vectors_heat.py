"""Makers of the vectors on heat demand, materials, warm-up and the night; make_vectors.py runs them.

The nights are integrated numerically with root-finding events, mode by mode; the code under test has closed forms.
"""

import math

import ambiance
import ht
import pint
from CoolProp.CoolProp import PropsSI
from ht.insulation import ASHRAE, building_materials
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

UNITS = pint.UnitRegistry()


def materials():
    """Conductivity, density and specific heat as the library copies them from EN 12524 and ASHRAE."""
    standard = {
        "steel": "Metals, steel", "stainless": "Metals, stainless steel", "aluminium": "Metals, aluminium alloys",
        "copper": "Metals, copper", "glass": "Glass, soda lime", "acrylic": "Plastics, acrylic",
        "pmma": "Plastics, polymethylmethacrylate (PMMA)", "polycarbonate": "Plastics, polycarbonates",
        "plywood": "Wood, plywood 500 kg/m^3", "birch-plywood": "Wood, plywood 700 kg/m^3", "pine": "Timber, 500 kg/m^3",
        "oak": "Timber, 700 kg/m^3", "chipboard": "Wood, particleboard, 600 kg/m^3", "osb": "Wood, oriented strand board",
        "mdf": "Wood, fibreboard, 600 kg/m^3", "hardboard": "Wood, fibreboard, 800 kg/m^3",
        "softboard": "Wood, fibreboard, 250 kg/m^3", "pvc": "Plastics, Polyvinylchloride (PVC)",
        "vinyl": "Floor covering, plastic", "polypropylene": "Plastics, polypropylene",
        "polyethylene": "Plastics, polyethylene / polythene, high density", "polyester-resin": "Plastics, polyester resin",
        "rubber": "Floor covering, rubber", "epdm": "Rubber, ethylene propylene diene monomer (EPDM)",
        "carpet": "Floor covering, carpet / textile flooring", "felt": "Floor covering, underlay, felt",
        "linoleum": "Floor covering, Linoleum", "cork": "Floor covering, underlay, cork",
        "elastomeric-foam": "Sealant, elastomeric foam, flexible", "foam-rubber": "Rubber, foam rubber",
    }
    for word, name in standard.items():
        density, conductivity, heat = building_materials[name]
        yield {
            "word": word,
            "expected_conductivity_W_per_m_K": conductivity,
            "expected_density_kg_per_m3": density,
            "expected_specific_heat_J_per_kg_K": heat,
            "tolerance": "1e-9 relative",
            "source": f"ht 1.2.0 building_materials (EN 12524), {name}",
        }
    handbook = {
        "pu-foam": "Spray-applied Polyurethane foam, 40 kg/m^3", "mineral-wool": "Mineral wool, felted, 32 kg/m^3",
        "glass-wool": "Glass-fiber batts, 90 mm",
    }
    for word, name in handbook.items():
        density, heat, conductivity, *_ = ASHRAE[name]
        yield {
            "word": word,
            "expected_conductivity_W_per_m_K": conductivity,
            "expected_density_kg_per_m3": density,
            "expected_specific_heat_J_per_kg_K": heat,
            "tolerance": "1e-9 relative",
            "source": f"ht 1.2.0 ASHRAE (Handbook Fundamentals 2013), {name}",
        }
    # European declared values lie above the American ones: aged, and at the 90 % fractile.
    for word, name, tolerance in (
        ("xps", "Expanded polystyrene, extruded", "0.35"), ("eps", "Expanded polystyrene, molded beads", "0.1"),
        ("pir", "Polyisocyanurate, aged, unfaced", "1e-9"), ("phenolic-foam", "Phenolic foam board with facers, aged", "0.2"),
    ):
        yield {
            "word": word,
            "expected_conductivity_W_per_m_K": ASHRAE[name][2],
            "tolerance": f"{tolerance} relative",
            "source": f"ht 1.2.0 ASHRAE (Handbook Fundamentals 2013), {name}; tolerance: declared values of the trade",
        }


ROOMS = (
    # volume, changes, side counted, set, outside, altitude, people, [(surface, direction, area, layers, layers at a rib, share of ribs)]
    ("van", 9.0, 1.0, "inside", 20, -15, 200, 0, (
        ("walls", "sideways", 14.0, "4/0.13;12/0.04;0.9/50", "", 0.0),
        ("roof", "up", 5.0, "4/0.13;20/0.04;0.9/50", "", 0.0),
        ("floor", "down", 5.0, "18/0.13;12/0.034;1.2/50", "", 0.0))),
    ("ribbed van", 7.2, 0.7, "outside", 18, -26, 0, 2, (
        ("walls", "sideways", 11.5, "4/0.13;30/0.034;0.8/160", "4/0.13;30/50;1.6/160", 0.06),
        ("roof", "up", 4.4, "4/0.13;30/0.034;0.8/160", "4/0.13;30/0.13;0.8/160", 0.08),
        ("floor", "down", 4.4, "15/0.17;25/0.034;2/160", "", 0.0),
        ("glass", "sideways", 1.1, "4/1.0", "", 0.0))),
    ("high pass", 5.5, 2.0, "inside", 21, -20, 2300, 1, (
        ("walls", "sideways", 9.0, "3/0.2;25/0.026;1/50", "3/0.2;26/160", 0.03),
        ("roof", "up", 3.0, "25/0.026;1.5/50", "", 0.0),
        ("floor", "down", 3.0, "5/0.17;12/0.13;2/50", "", 0.0))),
    ("mild night", 8.0, 0.5, "outside", 19, 6, 500, 2, (
        ("walls", "sideways", 13.0, "6/0.13;40/0.04;0.9/50", "", 0.0),
        ("roof", "up", 5.0, "6/0.13;60/0.0235;0.9/50", "", 0.0),
        ("floor", "down", 5.0, "18/0.13;30/0.034;1.2/50", "", 0.0),
        ("glass", "sideways", 0.8, "4/1.0", "", 0.0))),
    ("horse box", 12.0, 3.0, "inside", 12, -5, 0, 0, (
        ("walls", "sideways", 20.0, "18/0.13;1.5/160", "", 0.0),
        ("roof", "up", 7.5, "3/0.25;30/0.036;3/0.25", "", 0.0),
        ("floor", "down", 7.5, "8/0.17;27/0.17", "", 0.0))),
)


def room_demand():
    """Heat a room asks for: layers through a units library, leaking air by a real-gas equation of state."""
    inner = {"up": 0.10, "sideways": 0.13, "down": 0.17}
    for name, volume, changes, side, inside, outside, altitude, people, surfaces in ROOMS:
        total = 0 * UNITS("W/K")
        cells = []
        for surface, direction, area, layers, rib, share in surfaces:
            def transmittance(text):
                resistance = (inner[direction] + 0.04) * UNITS("m^2 K/W")
                for part in text.split(";"):
                    thickness, conductivity = part.split("/")
                    resistance += float(thickness) * UNITS.mm / (float(conductivity) * UNITS("W/(m K)"))
                return 1 / resistance

            value = transmittance(layers)
            if rib:
                value = (1 - share) * value + share * transmittance(rib)
            total += value * area * UNITS("m^2")
            cells.append(f"{direction} {area} {share} {layers} {rib or layers}")
        pressure = ambiance.Atmosphere(altitude).pressure[0]
        counted = inside if side == "inside" else outside
        density = PropsSI("D", "T", counted + 273.15, "P", pressure, "Air")
        middle = (inside + outside) / 2 + 273.15
        specific = PropsSI("C", "T", middle, "P", pressure, "Air")
        leak = density * volume * changes / 3600 * specific
        difference = inside - outside
        watts = total.to("W/K").magnitude * difference + leak * difference - 70 * people
        yield {
            "room": name,
            "volume_m3": volume,
            "changes_per_h": changes,
            "counted": side,
            "inside_C": inside,
            "outside_C": outside,
            "altitude_m": altitude,
            "people": people,
            "surfaces": "|".join(cells),
            "expected_transmission_W_per_K": total.to("W/K").magnitude,
            "expected_leakage_W_per_K": leak,
            "expected_demand_W": watts,
            "tolerance": "4e-3 relative",
            "source": "pint 0.25.3 on ISO 6946, CoolProp 8.0.0 air, ambiance 1.3.1; tolerance: ideal gas, constant c_p",
        }


def room_store():
    """Effective thickness of ISO 13786, by walking the surface a hundredth of a millimetre at a time."""
    for layers, area in (
        ("4 plywood;12 pe-foam;0.9 steel", 14.0), ("18 plywood;12 xps;1.2 steel", 5.0), ("4 glass", 0.8),
        ("1.5 steel", 6.0), ("12 pe-foam;0.9 steel", 5.0), ("6 carpet;18 plywood;30 xps;3 aluminium", 4.0),
        ("3 vinyl;18 oak;4 rubber;2 steel", 8.0), ("60 oak;200 hardboard", 2.0),
    ):
        table = {
            "plywood": (0.13, 500, 1600), "pe-foam": (0.04, 33, 2300), "steel": (50, 7800, 450), "xps": (0.034, 33, 1450),
            "glass": (1.0, 2500, 750), "carpet": (0.06, 200, 1300), "aluminium": (160, 2800, 880),
            "vinyl": (0.25, 1700, 1400), "oak": (0.18, 700, 1600), "rubber": (0.17, 1200, 1400), "hardboard": (0.18, 800, 1700),
        }
        parts = [(float(part.split()[0]), table[part.split()[1]]) for part in layers.split(";")]
        whole = sum(thickness for thickness, _ in parts)
        step, depth, total = 0.0005, 0.0, 0.0
        while True:
            middle, at = depth + step / 2, 0.0
            if middle > whole / 2 or middle > 100:
                break
            for thickness, values in parts:
                at += thickness
                if middle < at:
                    break
            if values[0] <= 0.065:
                break
            total += step / 1000 * values[1] * values[2]
            depth += step
        yield {
            "layers": layers,
            "area_m2": area,
            "expected_store_J_per_K": total * area,
            "tolerance": "1e-3 relative" if total else "1e-9 absolute",
            "source": "summed slice by slice by the rule of ISO 13786:2017 annex C (from memory); tolerance: the slices",
        }


def room_warm_up():
    """From cold to the set-point, and the heat that would do it in a given time, by integration and a root finder.

    With a mass the room has two states; without one it is the one of `warm_up_time`.
    """
    for start, outside, target, loss, light, film, air, mass, watts, wanted in (
        (-20, -20, 20, 38.0, 38.0, 0.0, 150e3, 0.0, 2600, 3600), (-10, -12, 18, 52.0, 52.0, 0.0, 95e3, 0.0, 2100, 2400),
        (5, 5, 21, 21.0, 21.0, 0.0, 210e3, 0.0, 900, 5400), (-30, -30, 15, 61.0, 61.0, 0.0, 320e3, 0.0, 4000, 7200),
        (-20, -20, 20, 38.0, 8.0, 190.0, 50e3, 120e3, 2600, 1800), (-10, -12, 18, 52.0, 21.0, 150.0, 35e3, 60e3, 2100, 2400),
        (5, 5, 21, 21.0, 3.0, 210.0, 55e3, 600e3, 900, 7200), (-30, -30, 15, 61.0, 18.0, 95.0, 70e3, 250e3, 4000, 3600),
        (-15, -15, 19, 30.0, 6.0, 1e4, 40e3, 90e3, 2000, 2000), (-5, -25, 18, 44.0, 0.0, 180.0, 60e3, 150e3, 3000, 900),
    ):
        through = loss - light
        behind = 1 / (1 / through - 1 / film) if mass else 0.0

        def rates(heat):
            def at(time, state):
                over = film * (state[0] - state[1])
                return [
                    (heat - light * (state[0] - outside) - over) / air,
                    (over - behind * (state[1] - outside)) / mass if mass else 0.0,
                ]
            return at

        def reached(heat):
            there = lambda time, state: state[0] - target
            there.terminal = True
            return solve_ivp(rates(heat), (0, 1e6), [start, start], events=there, method="LSODA", rtol=1e-12, atol=1e-11, max_step=3000)

        time = reached(watts).t_events[0][0]
        at_time = lambda heat: solve_ivp(
            rates(heat), (0, wanted), [start, start], method="LSODA", rtol=1e-12, atol=1e-11,
        ).y[0][-1] - target
        yield {
            "start_C": start,
            "outside_C": outside,
            "target_C": target,
            "loss_W_per_K": loss,
            "light_W_per_K": light,
            "film_W_per_K": film,
            "air_J_per_K": air,
            "mass_J_per_K": mass,
            "heat_W": watts,
            "wanted_s": wanted,
            "expected_time_s": time,
            "expected_heat_for_it_W": brentq(at_time, 1, 1e6, xtol=1e-9, rtol=1e-13),
            "tolerance": "1e-7 relative",
            "source": "scipy 1.17.1 solve_ivp with events, brentq over it",
        }


NIGHT = {
    "loss_W_per_K": 40.0, "light_W_per_K": 9.0, "film_W_per_K": 170.0, "air_J_per_K": 50e3, "mass_J_per_K": 110e3,
    "people_W": 0.0, "outside_C": -15.0, "start_C": -15.0, "set_C": 20.0,
    "low_W": 900.0, "high_W": 2400.0, "low_fuel_L_per_h": 0.11, "high_fuel_L_per_h": 0.29, "low_A": 0.8, "high_A": 2.8,
    "standby_A": 0.02, "preheat_A": 9.5, "preheat_s": 90.0, "ignition_A": 8.0, "ignition_s": 40.0, "afterglow_A": 8.4,
    "afterglow_s": 20.0, "cooldown_A": 2.2, "cooldown_s": 180.0, "below": "stops", "above_K": 1.5, "restart_K": 1.5,
    "full_Ah": 60.0, "charge_Ah": 54.0, "rated_A": 4.75, "exponent": 1.15, "other_A": 0.3, "empty_V": 11.8, "charged_V": 12.7,
    "resistance_mohm": 60.0, "limit_V": 10.2, "tank_L": 50.0, "hours": 9.0,
}
NO_MASS = {"light_W_per_K": 40.0, "film_W_per_K": 0.0, "mass_J_per_K": 0.0}
NIGHTS = {
    "holds what is asked for": {},
    "cycles on a mild night": {"outside_C": 6.0, "start_C": 6.0, "hours": 10.0},
    "cycles, two people, small room": {"loss_W_per_K": 22.0, "light_W_per_K": 4.0, "film_W_per_K": 110.0, "air_J_per_K": 25e3, "mass_J_per_K": 45e3, "people_W": 140.0, "outside_C": 2.0, "start_C": 2.0},
    "cycles fast in a light room": {"loss_W_per_K": 30.0, "air_J_per_K": 12e3, "mass_J_per_K": 30e3, "outside_C": 8.0, "start_C": 8.0, "hours": 14.0},
    "cycles beside heavy contents": {"mass_J_per_K": 700e3, "outside_C": 6.0, "start_C": 6.0, "hours": 14.0},
    "cycles, all in one store": {**NO_MASS, "air_J_per_K": 160e3, "outside_C": 6.0, "start_C": 6.0, "hours": 10.0},
    "cycles, nothing leaks": {"light_W_per_K": 0.0, "outside_C": 5.0, "start_C": 12.0, "restart_K": 2.0},
    "cycles, mostly panes and leaks": {"light_W_per_K": 31.0, "film_W_per_K": 60.0, "outside_C": 5.0, "start_C": 5.0},
    "holds until the mass is warm, then cycles": {"outside_C": 1.0, "start_C": 1.0, "high_W": 4500.0, "mass_J_per_K": 260e3},
    "runs on past the set-point": {"outside_C": 8.0, "start_C": 8.0, "below": "runs-on"},
    "settles inside the band at lowest": {"outside_C": -2.0, "start_C": 3.0},
    "too weak": {"loss_W_per_K": 85.0, "outside_C": -22.0, "start_C": -22.0},
    "too weak, people help": {"loss_W_per_K": 74.0, "outside_C": -16.0, "start_C": 5.0, "people_W": 210.0, "hours": 7.0},
    "too weak once the mass has cooled": {"loss_W_per_K": 80.0, "outside_C": -14.0, "start_C": 20.0, "mass_J_per_K": 300e3},
    "battery fails a restart": {"outside_C": 5.0, "start_C": 5.0, "charge_Ah": 40.0, "other_A": 0.9, "resistance_mohm": 120.0, "limit_V": 10.9, "hours": 14.0},
    "battery fails the first start": {"charge_Ah": 10.0, "resistance_mohm": 200.0, "limit_V": 10.5},
    "battery runs empty": {"charge_Ah": 9.0, "other_A": 0.8, "limit_V": 5.0},
    "battery runs empty above its rated current": {"charge_Ah": 18.0, "full_Ah": 30.0, "rated_A": 1.4, "other_A": 0.8, "limit_V": 5.0, "mass_J_per_K": 250e3},
    "above the rated current all night": {"full_Ah": 80.0, "charge_Ah": 70.0, "rated_A": 1.6, "mass_J_per_K": 250e3},
    "tank runs empty": {"outside_C": -18.0, "start_C": -18.0, "tank_L": 1.1},
    "tank runs empty while it cycles": {"outside_C": 4.0, "start_C": 4.0, "tank_L": 0.45, "hours": 12.0},
    "room warm when it starts": {"outside_C": -4.0, "start_C": 21.0, "low_W": 700.0},
    "room too warm to start": {"outside_C": 7.0, "start_C": 25.0, "hours": 8.0},
    "wide band, long cool-down": {"outside_C": 3.0, "start_C": 3.0, "restart_K": 4.0, "above_K": 2.0, "cooldown_s": 360.0, "hours": 11.0},
    "cool-down outlasts the band": {"outside_C": -8.0, "start_C": -8.0, "loss_W_per_K": 30.0, "air_J_per_K": 10e3, "mass_J_per_K": 15e3, "restart_K": 0.5, "above_K": 0.8, "low_W": 1000.0, "hours": 6.0},
    "one output only": {"outside_C": 0.0, "start_C": 0.0, "low_W": 2000.0, "high_W": 2000.0, "low_fuel_L_per_h": 0.25, "high_fuel_L_per_h": 0.25, "low_A": 2.0, "high_A": 2.0},
}


class Over(Exception):
    """The night is over."""


def integrate(case):
    """One night, mode by mode: a numerical integrator with root-finding events and nothing in closed form."""
    hour = 3600.0
    end = case["hours"] * hour
    outside, set_point = case["outside_C"], case["set_C"]
    film, light = case["film_W_per_K"], case["light_W_per_K"]
    through = case["loss_W_per_K"] - light
    # In series with the film it makes up what crosses the mass.
    behind = 1 / (1 / through - 1 / film) if film and through else 0.0
    # Air, mass, drawn in A·s, fuel in L, heat in J, loss in J.
    state = {"t": 0.0, "y": [case["start_C"], case["start_C"], 0.0, 0.0, 0.0, 0.0], "failed": None}
    told = {"starts": 0, "burning": 0.0, "lowest": 0.0, "below": 0.0, "warm": None, "cold": math.inf, "hot": case["start_C"], "volts": math.inf, "volts_at": 0.0, "stops": []}
    if case["start_C"] >= set_point:
        told["warm"], told["cold"] = 0.0, case["start_C"]

    def drain(amperes):
        rated = case["rated_A"]
        return amperes if amperes <= rated else rated * (amperes / rated) ** case["exponent"]

    def line(watts, low, high):
        if case["high_W"] == case["low_W"]:
            return high
        return low + (high - low) * (watts - case["low_W"]) / (case["high_W"] - case["low_W"])

    def holding(mass):
        """Heat that holds the air at the set-point beside a mass."""
        return light * (set_point - outside) + film * (set_point - mass) - case["people_W"]

    def mode(watts, amperes=None, lasts=None, warm=None, cool=None):
        """Integrates one mode and says how it ended; watts `"hold"` holds the air at its set-point."""
        held, burning = watts == "hold", watts is not None
        if warm is not None and state["y"][0] >= warm and not state["y"][0] == warm == set_point:
            return "warm"
        if cool is not None and state["y"][0] <= cool and not state["y"][0] == cool == set_point:
            return "cool"
        stop = end if lasts is None else min(end, state["t"] + lasts)

        def rates(t, y):
            heat = holding(y[1]) if held else (watts or 0.0)
            flow = amperes if amperes is not None else line(heat, case["low_A"], case["high_A"])
            fuel = line(heat, case["low_fuel_L_per_h"], case["high_fuel_L_per_h"]) / hour if burning else 0.0
            crosses = film * (y[0] - y[1])
            lost = light * (y[0] - outside), behind * (y[1] - outside)
            return [
                0.0 if held else (heat + case["people_W"] - lost[0] - crosses) / case["air_J_per_K"],
                (crosses - lost[1]) / case["mass_J_per_K"] if film else 0.0,
                drain(flow + case["other_A"]), fuel, heat, sum(lost),
            ]

        warmed = lambda t, y: y[0] - (warm if warm is not None else 1e9)
        cooled = lambda t, y: y[0] - (cool if cool is not None else -1e9)
        empty = lambda t, y: y[2] - case["charge_Ah"] * hour
        dry = lambda t, y: y[3] - case["tank_L"]
        less = lambda t, y: holding(y[1]) - case["low_W"] if held else 1.0
        more = lambda t, y: holding(y[1]) - case["high_W"] if held else -1.0
        crossing = lambda t, y: 1.0 if held else y[0] - set_point
        turning = lambda t, y: 1.0 if held else rates(t, y)[0]
        for event, direction in ((warmed, 1), (cooled, -1), (empty, 1), (dry, 1), (less, -1), (more, 1)):
            event.terminal, event.direction = True, direction
        if state["failed"]:
            empty = dry = lambda t, y: 1.0
        if stop <= state["t"]:
            raise Over
        begin, first = state["t"], state["y"][0]
        run = solve_ivp(
            rates, (begin, stop), state["y"], events=(warmed, cooled, empty, dry, less, more, crossing, turning),
            method="DOP853", rtol=1e-11, atol=1e-10, max_step=600.0, first_step=min(1e-3, stop - begin),
        )
        state["t"], state["y"] = float(run.t[-1]), [float(value) for value in run.y[:, -1]]
        hit = [bool(times.size) for times in run.t_events]
        if hit[0]:
            state["y"][0] = warm
        if hit[1]:
            state["y"][0] = cool
        span, last = state["t"] - begin, state["y"][0]
        marks = [begin] + [float(t) for t in run.t_events[6] if begin + 1e-6 < t < state["t"] - 1e-6] + [state["t"]]
        # Between two crossings the side is that of the state in the middle, by a second run up to there.
        for early, late in zip(marks, marks[1:]):
            if held:
                below = False
            elif len(marks) == 2 and first < set_point:
                below = True
            else:
                nudge = solve_ivp(rates, (begin, (early + late) / 2), run.y[:, 0], method="DOP853", rtol=1e-11, atol=1e-10)
                below = nudge.y[0][-1] < set_point
            if below:
                told["below"] += late - early
            elif told["warm"] is None:
                told["warm"], told["cold"] = early, set_point
        if told["warm"] is None and last >= set_point:
            told["warm"], told["cold"] = state["t"], set_point
        seen = [last] + [float(y[0]) for y in run.y_events[7]]
        if told["warm"] is not None:
            told["cold"] = min([told["cold"]] + seen)
        told["hot"] = max([told["hot"]] + seen)
        if burning:
            told["burning"] += span
            if watts == case["low_W"]:
                told["lowest"] += span
        if hit[2] and not state["failed"]:
            state["failed"] = ("charge", state["t"])
        elif hit[3] and not state["failed"]:
            state["failed"] = ("fuel", state["t"])
        elif state["t"] >= end - 1e-9:
            raise Over
        else:
            return "warm" if hit[0] else "cool" if hit[1] else "less" if hit[4] else "more" if hit[5] else "lasted"
        mode(None, case["standby_A"])
        raise Over

    def volts(amperes, drawn):
        share = max(0.0, (case["charge_Ah"] - drawn / hour) / case["full_Ah"])
        rest = case["empty_V"] + (case["charged_V"] - case["empty_V"]) * min(1.0, share)
        return rest - amperes * case["resistance_mohm"] / 1000

    def start():
        drawn = state["y"][2]
        # The stage's own current is what sags; the other loads only empty the battery.
        after = drawn + drain(case["preheat_A"]) * case["preheat_s"]
        lowest = min(volts(case["preheat_A"], drawn), volts(case["ignition_A"], after))
        if lowest < told["volts"]:
            told["volts"], told["volts_at"] = lowest, state["t"]
        if lowest < case["limit_V"]:
            state["failed"] = ("voltage", state["t"])
            mode(None, case["standby_A"])
            raise Over
        mode(None, case["preheat_A"], lasts=case["preheat_s"])
        mode(None, case["ignition_A"], lasts=case["ignition_s"])
        told["starts"] += 1

    def burn():
        low, high = case["low_W"], case["high_W"]
        stop = set_point + case["above_K"] if case["below"] == "stops" else None
        while True:
            if state["y"][0] < set_point:
                mode(high, warm=set_point)
            how = None
            if state["y"][0] == set_point:
                if holding(state["y"][1]) > low - 1e-6:
                    how = mode("hold")
                if how == "more":
                    mode(high)
            if mode(low, warm=stop, cool=set_point if how != "less" else None) == "warm":
                told["stops"].append(state["t"])
                return

    try:
        if state["y"][0] > set_point + case["above_K"] and case["below"] == "stops":
            mode(None, case["standby_A"], cool=set_point - case["restart_K"])
        while True:
            start()
            burn()
            mode(None, case["afterglow_A"], lasts=case["afterglow_s"])
            mode(None, case["cooldown_A"], lasts=case["cooldown_s"])
            mode(None, case["standby_A"], cool=set_point - case["restart_K"])
    except Over:
        pass
    return state, told


def nights():
    for name, change in NIGHTS.items():
        case = {**NIGHT, **change}
        state, told = integrate(case)
        air, mass, drawn, fuel, heat, lost = state["y"]
        # The energy balance of the integration itself.
        kept = case["air_J_per_K"] * (air - case["start_C"]) + case["mass_J_per_K"] * (mass - case["start_C"])
        assert abs(heat + case["people_W"] * case["hours"] * 3600 - lost - kept) < 2e-5 * max(heat, 1e5), name
        # A cycle is told where the mass has settled: else no two are alike.
        cycles = [late - early for early, late in zip(told["stops"], told["stops"][1:])]
        alike = len(cycles) > 1 and abs(cycles[-1] / cycles[-2] - 1) < 1e-6
        yield {
            "case": name,
            **case,
            "expected_starts": told["starts"],
            "expected_burning_h": told["burning"] / 3600,
            "expected_at_lowest_h": told["lowest"] / 3600,
            "expected_cycle_s": cycles[-1] if alike else "",
            "expected_fuel_L": fuel,
            "expected_heat_MJ": heat / 1e6,
            "expected_lost_MJ": lost / 1e6,
            "expected_charge_left_Ah": max(0.0, case["charge_Ah"] - drawn / 3600),
            "expected_lowest_voltage_V": told["volts"],
            "expected_lowest_voltage_at_h": told["volts_at"] / 3600,
            "expected_warm_up_s": "" if told["warm"] is None else told["warm"],
            "expected_coldest_K": "" if told["warm"] is None else told["cold"] + 273.15,
            "expected_warmest_K": told["hot"] + 273.15,
            "expected_at_end_K": air + 273.15,
            "expected_mass_at_end_K": mass + 273.15,
            "expected_below_set_h": told["below"] / 3600,
            "failure": state["failed"][0] if state["failed"] else "",
            "expected_failed_at_h": state["failed"][1] / 3600 if state["failed"] else "",
            "tolerance": "1e-5 relative",
            "source": "scipy 1.17.1 solve_ivp (DOP853) with events, mode by mode; Peukert 1897 for large currents",
        }


MAKERS = (materials, room_demand, room_store, room_warm_up, nights)
assert ht.__version__ == "1.2.0"
