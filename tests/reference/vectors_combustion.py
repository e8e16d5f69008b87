"""Vectors of combustion and of hot pipes: element balances as linear systems, gases by reference equations, pipes integrated."""

import math

import ambiance
import fluids
import ht
import numpy
from CoolProp.CoolProp import PropsSI
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

# IUPAC 2021, abridged; air of the US Standard Atmosphere 1976, table 3, nitrogen the rest.
ATOMS = {"C": 12.011, "H": 1.008, "O": 15.999, "N": 14.007, "Ar": 39.95}
GASES = {
    "CarbonDioxide": {"C": 1, "O": 2}, "Water": {"H": 2, "O": 1}, "Oxygen": {"O": 2}, "Nitrogen": {"N": 2}, "Argon": {"Ar": 1},
}
AIR = {"Oxygen": 0.209476, "Argon": 0.00934, "CarbonDioxide": 0.000314}
AIR["Nitrogen"] = 1 - sum(AIR.values())
FUELS = {"diesel": (1.86, 42.84), "petrol": (1.87, 43.0)}
GAS_CONSTANT = 8.314462618
PRESSURE = 101325.0
GRAVITY = 9.80665
STEFAN_BOLTZMANN = 5.670374419e-8


def mass_of(gas):
    return sum(ATOMS[atom] * number for atom, number in GASES[gas].items())


AIR_MASS = sum(share * mass_of(gas) for gas, share in AIR.items())


def burnt(fuel, moles_of_air):
    """Moles of each gas from one CHx: the balance of every element as one linear system."""
    hydrogen = FUELS[fuel][0]
    order, elements = list(GASES), list(ATOMS)
    matrix = numpy.array([[GASES[gas].get(atom, 0) for gas in order] for atom in elements], dtype=float)
    put_in = {"C": 1.0, "H": hydrogen, "O": 0.0, "N": 0.0, "Ar": 0.0}
    for gas, share in AIR.items():
        for atom, number in GASES[gas].items():
            put_in[atom] += moles_of_air * share * number
    return dict(zip(order, numpy.linalg.solve(matrix, [put_in[atom] for atom in elements])))


def moles_needed(fuel):
    return brentq(lambda air: burnt(fuel, air)["Oxygen"], 1, 20, xtol=1e-14, rtol=1e-14)


def fuel_mass(fuel):
    return ATOMS["C"] + FUELS[fuel][0] * ATOMS["H"]


def shares(fuel, excess):
    moles = burnt(fuel, moles_needed(fuel) * (1 + excess))
    total = sum(moles.values())
    return {gas: number / total for gas, number in moles.items()}


def molar_mass(mixture):
    return sum(share * mass_of(gas) for gas, share in mixture.items())


def specific_heat(mixture, kelvin):
    """Ideal-gas c_p of the mixture in J/(kg K), each gas by its reference equation."""
    # The library knows water from its triple point up; its heat changes by 0.2 % below.
    at = lambda gas: max(kelvin, 273.2) if gas == "Water" else kelvin
    molar = sum(share * PropsSI("CP0MOLAR", "T", at(gas), "P", 100.0, gas) for gas, share in mixture.items())
    return molar / molar_mass(mixture) * 1000


def heat_between(mixture, start, end):
    return quad(lambda kelvin: specific_heat(mixture, kelvin), start, end, epsabs=1e-3, epsrel=1e-9)[0]


def saturation(kelvin):
    return PropsSI("P", "T", kelvin, "Q", 0, "Water")


def dew_point(partial):
    return PropsSI("T", "P", partial, "Q", 0, "Water")


def combustion_products():
    """The sixth digit differs by nothing but rounding: other route, same atoms."""
    for fuel, excess in (
        ("diesel", 0.0), ("diesel", 0.17), ("diesel", 0.35), ("diesel", 0.6), ("diesel", 1.05), ("diesel", 1.8),
        ("petrol", 0.0), ("petrol", 0.28), ("petrol", 0.74), ("petrol", 1.3),
    ):
        mixture = shares(fuel, excess)
        dry = 1 - mixture["Water"]
        moles = burnt(fuel, moles_needed(fuel) * (1 + excess))
        yield {
            "fuel": fuel,
            "excess_air": excess,
            "expected_air_kg_per_kg": moles_needed(fuel) * (1 + excess) * AIR_MASS / fuel_mass(fuel),
            "expected_exhaust_kg_per_kg": sum(n * mass_of(gas) for gas, n in moles.items()) / fuel_mass(fuel),
            "expected_water_kg_per_kg": moles["Water"] * mass_of("Water") / fuel_mass(fuel),
            "expected_dry_carbon_dioxide": mixture["CarbonDioxide"] / dry,
            "expected_dry_oxygen": mixture["Oxygen"] / dry,
            "expected_wet_water": mixture["Water"],
            "expected_wet_nitrogen": mixture["Nitrogen"],
            "expected_molar_mass_g_per_mol": molar_mass(mixture),
            "tolerance": "1e-9 absolute" if excess == 0 else "1e-9 relative",
            "source": "element balance by numpy 2.4.6 linalg.solve; IUPAC masses; air of US Standard Atmosphere 1976",
        }


def combustion_gas():
    for fuel, excess, celsius in (
        ("diesel", 0.05, -35), ("diesel", 0.4, 20), ("diesel", 0.4, 180), ("diesel", 0.4, 420), ("diesel", 0.9, 300),
        ("diesel", 1.6, 550), ("petrol", 0.3, 75), ("petrol", 0.7, 480), ("petrol", 1.1, 690),
    ):
        mixture = shares(fuel, excess)
        kelvin = celsius + 273.15
        yield {
            "fuel": fuel,
            "excess_air": excess,
            "temperature_C": celsius,
            "expected_specific_heat_J_per_kg_K": specific_heat(mixture, kelvin),
            "expected_heat_from_20_C_J_per_kg": heat_between(mixture, 293.15, kelvin),
            "tolerance": "5e-3 relative",
            "source": "CoolProp 8.0.0 ideal-gas heat of CO2, H2O, O2, N2, Ar; tolerance: polynomials of another decade",
        }


def combustion_density():
    for excess, celsius, altitude in ((0.2, 90, 0), (0.5, 260, 0), (0.8, 410, 1240), (1.4, 33, 2350)):
        mixture = shares("diesel", excess)
        pressure = ambiance.Atmosphere(altitude).pressure[0]
        kelvin = celsius + 273.15
        # Each gas fills the whole volume at its own partial pressure; vapour is kept an ideal gas.
        density = sum(
            PropsSI("D", "T", kelvin, "P", pressure * share, gas) if gas != "Water"
            else pressure * share * mass_of(gas) / 1000 / (GAS_CONSTANT * kelvin)
            for gas, share in mixture.items()
        )
        yield {
            "excess_air": excess,
            "temperature_C": celsius,
            "pressure_Pa": pressure,
            "expected_density_kg_per_m3": density,
            "tolerance": "2e-3 relative",
            "source": "CoolProp 8.0.0 partial densities (Dalton); tolerance: ideal gas against real gas",
        }


def exhaust_dew_point():
    for fuel, excess, altitude in (
        ("diesel", 0.0, 0), ("diesel", 0.3, 0), ("diesel", 0.7, 0), ("diesel", 1.2, 0), ("diesel", 0.4, 1500),
        ("diesel", 0.1, 2400), ("petrol", 0.25, 0), ("petrol", 0.9, 800),
    ):
        mixture = shares(fuel, excess)
        pressure = ambiance.Atmosphere(altitude).pressure[0]
        dew = dew_point(pressure * mixture["Water"])
        yield {
            "fuel": fuel,
            "excess_air": excess,
            "pressure_Pa": pressure,
            "expected_dew_point_C": dew - 273.15,
            "tolerance": "0.1 absolute",
            "source": "CoolProp 8.0.0 saturation of water (IAPWS-95) at the partial pressure; tolerance: Sonntag's formula above 45 C",
        }


def exhaust_condensate():
    """How much water has left: bisection on what makes the remaining gas just saturated."""
    for excess, celsius, altitude in ((0.2, 49, 0), (0.2, 40, 0), (0.5, 30, 0), (0.5, 12, 0), (0.9, 3, 600), (1.3, 22, 1900), (1.3, 60, 0)):
        mixture = shares("diesel", excess)
        pressure = ambiance.Atmosphere(altitude).pressure[0]
        limit = saturation(celsius + 273.15)

        def too_wet(gone):
            left = mixture["Water"] * (1 - gone)
            return pressure * left / (1 - mixture["Water"] + left) - limit

        gone = 0.0 if too_wet(0.0) <= 0 else brentq(too_wet, 0, 1, xtol=1e-14)
        yield {
            "excess_air": excess,
            "temperature_C": celsius,
            "pressure_Pa": pressure,
            "expected_share": gone,
            "tolerance": "4e-3 absolute",
            "source": "scipy 1.17.1 brentq on CoolProp 8.0.0 saturation (IAPWS-95); tolerance: Sonntag's formula, near 50 C 0.4 %",
        }


def exhaust_port_temperature():
    """Fuel and air come in at one temperature; the heating value counts from 25 C, as its definition has it."""
    for fuel, grams_per_hour, efficiency, excess, celsius in (
        ("diesel", 95, 0.86, 0.7, 20), ("diesel", 240, 0.82, 0.45, 20), ("diesel", 240, 0.82, 0.45, -30),
        ("diesel", 510, 0.76, 0.3, 5), ("diesel", 510, 0.72, 0.6, -12), ("petrol", 330, 0.8, 0.5, 15),
    ):
        mass = grams_per_hour / 3.6e6
        power = mass * FUELS[fuel][1] * 1e6
        mixture = shares(fuel, excess)
        air = mass * moles_needed(fuel) * (1 + excess) * AIR_MASS / fuel_mass(fuel)
        inlet = celsius + 273.15
        brought = air * heat_between(AIR, 298.15, inlet)
        unbalance = lambda kelvin: (air + mass) * heat_between(mixture, 298.15, kelvin) - brought - power * (1 - efficiency)
        yield {
            "fuel": fuel,
            "fuel_g_per_h": grams_per_hour,
            "efficiency": efficiency,
            "excess_air": excess,
            "air_C": celsius,
            "expected_port_C": brentq(unbalance, 250, 1500) - 273.15,
            "tolerance": "8 absolute",
            "source": "scipy 1.17.1 brentq on CoolProp 8.0.0 enthalpies from 25 C; tolerance: air counted as exhaust, c_p to 0.5 %",
        }


def excess_air_at_altitude():
    reference = PropsSI("D", "T", 293.15, "P", PRESSURE, "Air")
    for excess, altitude, celsius in (
        (0.4, 2400, None), (0.4, 2400, -20), (0.25, 1500, None), (0.3, 3100, 8), (0.6, 2750, -33), (0.1, 900, None),
    ):
        there = ambiance.Atmosphere(altitude)
        kelvin = there.temperature[0] if celsius is None else celsius + 273.15
        ratio = PropsSI("D", "T", kelvin, "P", there.pressure[0], "Air") / reference
        # Fuel by volume: n-dodecane shows how much denser diesel is in the cold; from -9 C down it would be solid.
        dense = PropsSI("D", "T", max(kelvin, 264.15), "P", PRESSURE, "n-Dodecane") / PropsSI("D", "T", 293.15, "P", PRESSURE, "n-Dodecane")

        def left(height):
            day = ambiance.Atmosphere(height)
            warm = day.temperature[0] if celsius is None else kelvin
            return (1 + excess) * PropsSI("D", "T", warm, "P", day.pressure[0], "Air") / reference / dense - 1

        yield {
            "excess_air": excess,
            "altitude_m": altitude,
            "temperature_C": "standard" if celsius is None else celsius,
            "fuel_ratio": dense,
            "expected_excess_air_left": (1 + excess) * ratio / dense - 1,
            "expected_altitude_without_excess_km": brentq(left, -400, 9500) / 1000,
            "tolerance": "6e-3 absolute",
            "source": "ambiance 1.3.1, CoolProp 8.0.0 Air; altitude by scipy 1.17.1 brentq; tolerance: real gas, 5 m of altitude",
        }


def altitude_of_air():
    for altitude in (-350, 120, 780, 1650, 2400, 3900, 6100):
        there = ambiance.Atmosphere(altitude)
        yield {
            "pressure_Pa": there.pressure[0],
            "density_kg_per_m3": there.density[0],
            "expected_altitude_m": altitude,
            "tolerance": "0.5 absolute",
            "source": "ambiance 1.3.1; tolerance: constants differ in the sixth digit",
        }


def pipe_films():
    """Inside: Gnielinski with Petukhov's friction. Outside: Churchill and Chu, and radiation."""
    for reynolds in (900, 2299, 4001, 5200, 7800, 12500, 26000):
        laminar = reynolds < 2300
        factor = (0.79 * math.log(reynolds) - 1.64) ** -2
        nusselt = 3.66 if laminar else ht.conv_internal.turbulent_Gnielinski(reynolds, 0.70, factor)
        yield {
            "reynolds": reynolds,
            "expected_nusselt": nusselt,
            "tolerance": "1e-6 relative",
            "source": "ht 1.2.0 turbulent_Gnielinski; laminar limit of even wall temperature",
        }
    for outside, surface, air, emissivity in ((27, 180, 20, 0.6), (27, 320, -15, 0.6), (38, 95, 30, 0.9), (60, 60, 10, 0.9), (24, 21, 20, 0.3)):
        kelvin = (surface + air) / 2 + 273.15
        state = ("T", kelvin, "P", PRESSURE, "Air")
        viscosity = PropsSI("V", *state) / PropsSI("D", *state)
        prandtl = PropsSI("PRANDTL", *state)
        diameter = outside / 1000
        grashof = fluids.Grashof(L=diameter, beta=1 / kelvin, T1=surface + 273.15, T2=air + 273.15, nu=viscosity, g=GRAVITY)
        nusselt = ht.conv_free_immersed.Nu_horizontal_cylinder_Churchill_Chu(prandtl, grashof)
        rising = nusselt * PropsSI("L", *state) / diameter
        radiated = ht.radiation.q_rad(emissivity, surface + 273.15, air + 273.15) / (surface - air)
        yield {
            "outside_mm": outside,
            "surface_C": surface,
            "air_C": air,
            "emissivity": emissivity,
            "expected_film_W_per_m2_K": rising + radiated,
            "tolerance": "0.02 relative",
            "source": "ht 1.2.0 Churchill and Chu, q_rad; CoolProp 8.0.0 Air; tolerance: Sutherland, USSA conductivity, Pr 0.70",
        }


def hot_pipe():
    """Gas along a pipe, its equation integrated with every coefficient taken anew at each place."""
    for bore, outside, length, lagging, grams_per_second, start, air, excess in (
        (24, 27, 0.9, 0, 1.6, 380, 20, 0.5), (24, 27, 2.0, 0, 1.6, 380, 20, 0.5), (24, 27, 2.0, 0, 1.6, 380, -20, 0.5),
        (24, 27, 1.5, 10, 1.6, 380, 20, 0.5), (24, 27, 2.0, 0, 0.6, 180, -30, 0.9), (38, 42, 1.2, 0, 3.4, 460, 5, 0.4),
        (38, 42, 3.0, 8, 3.4, 460, 5, 0.4), (22, 24, 0.4, 0, 0.75, 240, 35, 0.7), (24, 27, 6.0, 5, 1.1, 300, 0, 1.0),
    ):
        mixture = shares("diesel", excess)
        flow, diameter, metal, thick = grams_per_second / 1000, bore / 1000, outside / 1000, lagging / 1000
        ambient = air + 273.15
        emissivity = 0.9 if lagging else 0.6
        skin = metal + 2 * thick

        def outer(surface):
            kelvin = (surface + ambient) / 2
            state = ("T", kelvin, "P", PRESSURE, "Air")
            viscosity = PropsSI("V", *state) / PropsSI("D", *state)
            grashof = fluids.Grashof(L=skin, beta=1 / kelvin, T1=surface, T2=ambient, nu=viscosity, g=GRAVITY)
            nusselt = ht.conv_free_immersed.Nu_horizontal_cylinder_Churchill_Chu(PropsSI("PRANDTL", *state), grashof)
            rising = nusselt * PropsSI("L", *state) / skin * (surface - ambient)
            return math.pi * skin * (rising + emissivity * STEFAN_BOLTZMANN * (surface**4 - ambient**4))

        def loss(gas):
            """Heat lost by metre, and the surface that makes it: the two sides of the wall brought into balance."""
            reynolds = 4 * flow / (math.pi * diameter * PropsSI("V", "T", gas, "P", PRESSURE, "Air"))
            if reynolds < 2300:
                nusselt = 3.66
            elif reynolds > 4000:
                nusselt = ht.conv_internal.turbulent_Gnielinski(reynolds, 0.70, (0.79 * math.log(reynolds) - 1.64) ** -2)
            else:
                top = ht.conv_internal.turbulent_Gnielinski(4000, 0.70, (0.79 * math.log(4000) - 1.64) ** -2)
                nusselt = numpy.interp(reynolds, (2300, 4000), (3.66, top))
            film = nusselt * PropsSI("L", "T", gas, "P", PRESSURE, "Air") / diameter
            through = 1 / (film * math.pi * diameter)
            if thick:
                through += ht.conduction.R_cylinder(metal, skin, 0.08, 1)
            surface = brentq(lambda s: outer(s) - (gas - s) / through, ambient + 1e-6, gas)
            return outer(surface), surface

        cooling = lambda _, gas: [-loss(gas[0])[0] / (flow * specific_heat(mixture, gas[0]))]
        run = solve_ivp(cooling, (0, length), [start + 273.15], method="RK45", rtol=1e-7, atol=1e-5)
        end = run.y[0][-1]
        yield {
            "bore_mm": bore,
            "outside_mm": outside,
            "length_m": length,
            "lagging_mm": lagging,
            "flow_g_per_s": grams_per_second,
            "start_C": start,
            "air_C": air,
            "excess_air": excess,
            "expected_end_above_air_K": end - ambient,
            "expected_surface_at_start_above_air_K": loss(start + 273.15)[1] - ambient,
            "expected_surface_at_end_above_air_K": loss(end)[1] - ambient,
            "tolerance": "0.05 relative",
            "source": "scipy 1.17.1 solve_ivp, ht 1.2.0 films, CoolProp 8.0.0 gases; tolerance: Sutherland's law errs by 1.6 %, near Re 2700 that is 4 % of the film",
        }


def hot_pipe_loss():
    for bore, length, roughness, fittings, grams_per_second, celsius, excess, altitude in (
        (24, 1.2, 0.3, 2.1, 1.6, 340, 0.5, 0), (24, 2.0, 1.0, 6.3, 1.4, 220, 0.8, 1500), (38, 1.6, 1.0, 4.4, 3.4, 390, 0.4, 0),
        (22, 0.7, 0.1, 1.4, 0.7, 160, 1.0, 2400),
    ):
        mixture = shares("diesel", excess)
        kelvin, pressure = celsius + 273.15, ambiance.Atmosphere(altitude).pressure[0]
        density = pressure * molar_mass(mixture) / 1000 / (GAS_CONSTANT * kelvin)
        diameter = bore / 1000
        speed = grams_per_second / 1000 / density / (math.pi / 4 * diameter**2)
        reynolds = fluids.Reynolds(V=speed, D=diameter, rho=density, mu=PropsSI("V", "T", kelvin, "P", PRESSURE, "Air"))
        factor = fluids.friction_factor(Re=reynolds, eD=roughness / bore)
        yield {
            "bore_mm": bore,
            "length_m": length,
            "roughness_mm": roughness,
            "fittings": fittings,
            "flow_g_per_s": grams_per_second,
            "temperature_C": celsius,
            "excess_air": excess,
            "pressure_Pa": pressure,
            "expected_loss_Pa": fluids.dP_from_K(fluids.K_from_f(factor, length, diameter) + fittings, density, speed),
            "tolerance": "5e-3 relative",
            "source": "fluids 1.3.1 friction_factor, K_from_f, dP_from_K; CoolProp 8.0.0 Air viscosity; tolerance: Sutherland's law",
        }


MAKERS = (
    combustion_products, combustion_gas, combustion_density, exhaust_dew_point, exhaust_condensate,
    exhaust_port_temperature, excess_air_at_altitude, altitude_of_air, pipe_films, hot_pipe, hot_pipe_loss,
)
