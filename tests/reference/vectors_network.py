"""Makes the reference vectors of warm-air networks: tees, fans with trees of ducts, temperatures along ducts.

Networks are solved here as loop equations by a general root finder, one for each open outlet; nothing of the code under
test is used. `make_vectors.py` calls this; it is not run by itself.
"""

import math

import fluids
from CoolProp.CoolProp import PropsSI
from scipy.integrate import solve_ivp
from scipy.optimize import root

RATING_DENSITY = 1.2
TEES = "fluids 1.3.1 (Crane TP-410, 2009)"


def network_tee():
    """Shares within the step of Crane's G (0.357 to 0.4 and 0.6 to 0.667 of a wye), which is smoothed here, are left out."""
    for angle in (90, 75, 60, 45, 30):
        for ratio in (0.5, 0.62, 0.75, 0.9, 1.0):
            for share in (0.07, 0.22, 0.35, 0.45, 0.58, 0.81, 1.0):
                flows = (ratio, 1.0 - share, share, angle)
                yield {
                    "angle_deg": angle,
                    "branch_over_trunk": ratio,
                    "branch_share": share,
                    "expected_branch": fluids.fittings.K_branch_diverging_Crane(1.0, *flows),
                    "expected_through": fluids.fittings.K_run_diverging_Crane(1.0, *flows),
                    "tolerance": "1e-9 absolute",
                    "source": TEES,
                }


def network_narrowing():
    for wide, narrow in ((90, 75), (90, 60), (75, 60), (100, 90), (120, 60), (75, 75)):
        yield {
            "wide_mm": wide,
            "narrow_mm": narrow,
            "expected_loss_coefficient": fluids.contraction_sharp(wide, narrow, method="Rennels"),
            "tolerance": "1e-9 absolute",
            "source": "fluids 1.3.1 contraction_sharp, method Rennels (Rennels and Hudson 2012)",
        }


def network_air_conductivity():
    for celsius in (-35, -8, 15, 42, 71, 96, 128, 165, 210, 245):
        yield {
            "temperature_C": celsius,
            "expected_W_per_m_K": PropsSI("L", "T", celsius + 273.15, "P", 101325, "Air"),
            "tolerance": "2.5e-2 relative",
            "source": "CoolProp 8.0.0 Air (Lemmon and Jacobsen 2004); tolerance: formula of the standard atmosphere",
        }


class Section:
    """fed by, leaves ("straight" or degrees), bore mm, length m, roughness mm, fittings, bends, end, wall.

    bends: (degrees, radius over bore); end: "feeds", "shut" or a loss coefficient; wall: (outside mm, lagging mm,
    conductivity, outer film, temperature around in °C).
    """

    def __init__(self, fed_by, leaves, bore, length, roughness, fittings, bends, end, wall=None):
        self.fed_by, self.leaves, self.bore, self.length = fed_by, leaves, bore, length
        self.roughness, self.fittings, self.bends, self.end, self.wall = roughness, fittings, bends, end, wall

    def spelled(self):
        fed_by = "-" if self.fed_by is None else self.fed_by
        bends = "+".join(f"{angle}/{ratio}" for angle, ratio in self.bends) or "-"
        wall = "/".join(str(part) for part in self.wall) if self.wall else "-"
        parts = (fed_by, self.leaves, self.bore, self.length, self.roughness, self.fittings, bends, self.end, wall)
        return " ".join(str(part) for part in parts)


def area(section):
    return math.pi / 4 * (section.bore / 1000) ** 2


def friction(section, flow, viscosity):
    diameter = section.bore / 1000
    reynolds = 4 * flow / (math.pi * diameter * viscosity)
    turbulent = lambda reynolds: fluids.friction.Colebrook(reynolds, section.roughness / section.bore)
    if 2040 <= reynolds <= 4000:  # on the way to an answer; none of the answers lies here
        laminar = 64 / 2040
        return laminar + (turbulent(4000) - laminar) * (reynolds - 2040) / 1960
    return 64 / reynolds if reynolds < 2040 else turbulent(reynolds)


def own_loss(section, flow, density, viscosity):
    """Friction, bends, fittings and the outlet."""
    diameter = section.bore / 1000
    bends = sum(
        fluids.bend_rounded(Di=diameter, angle=angle, fd=friction(section, flow, viscosity), rc=diameter * ratio, method="Rennels")
        for angle, ratio in section.bends
    )
    straight = friction(section, flow, viscosity) * section.length / diameter if section.length else 0.0
    outlet = section.end if isinstance(section.end, (int, float)) else 0.0
    speed = flow / density / area(section)
    return fluids.dP_from_K(straight + bends + section.fittings + outlet, density, speed)


def film(section, flow, temperature, pressure):
    """Heat loss of a metre of duct by kelvin."""
    state = ("T", temperature, "P", pressure, "Air")
    viscosity, conductivity = PropsSI("V", *state), PropsSI("L", *state)
    prandtl = PropsSI("C", *state) * viscosity / conductivity
    diameter = section.bore / 1000
    reynolds = 4 * flow / (math.pi * diameter * viscosity)
    factor = friction(section, flow, viscosity)
    if reynolds < 2040:
        nusselt = 3.66
    else:
        nusselt = factor / 8 * (reynolds - 1000) * prandtl / (1 + 12.7 * math.sqrt(factor / 8) * (prandtl ** (2 / 3) - 1))
    outside, lagging, lambda_, outer, _ = section.wall
    lagged = (outside + 2 * lagging) / 1000
    resistances = [1 / (nusselt * conductivity * math.pi), 1 / (outer * math.pi * lagged)]
    if lagging:
        resistances.append(math.log(lagged / (outside / 1000)) / (2 * math.pi * lambda_))
    return 1 / sum(resistances), resistances[1]


def along(section, flow, enters, pressure):
    """Temperature at the end by integrating the enthalpy, and of the outermost surface at the beginning."""
    if section.wall is None:
        return enters, None
    around = section.wall[4] + 273.15

    def slope(_, temperature):
        here = float(temperature[0])
        per_metre, _ = film(section, flow, here, pressure)
        return [-per_metre * (here - around) / (flow * PropsSI("C", "T", here, "P", pressure, "Air"))]

    solved = solve_ivp(slope, (0, section.length), [enters], rtol=1e-9, atol=1e-9)
    per_metre, outer = film(section, flow, enters, pressure)
    return solved.y[0, -1], around + (enters - around) * per_metre * outer


def solve(fan, return_side, sections, drawn, pressure, heat):
    """Loop equations: for every open outlet, the losses along its path are what the fan gives."""
    free, blocked, outlet_bore = fan
    cold = PropsSI("D", "T", drawn, "P", pressure, "Air")
    cold_viscosity = PropsSI("V", "T", drawn, "P", pressure, "Air")
    leaves = [n for n, section in enumerate(sections) if isinstance(section.end, (int, float))]
    feeds = [[n for n, other in enumerate(sections) if other.fed_by == k] for k in range(len(sections))]

    def path(number):
        while number is not None:
            yield number
            number = sections[number].fed_by

    def flows_of(logarithms):
        flows = [0.0] * len(sections)
        for logarithm, leaf in zip(logarithms, leaves):
            for number in path(leaf):
                flows[number] += math.exp(logarithm)
        return flows

    def temperatures(flows):
        warm = []
        for section, flow in zip(sections, flows):
            if section.fed_by is None:
                enthalpy = PropsSI("H", "T", drawn, "P", pressure, "Air") + heat / flow
                enters = PropsSI("T", "H", enthalpy, "P", pressure, "Air")
            else:
                enters = warm[section.fed_by][1]
            warm.append((enters, *(along(section, flow, enters, pressure) if flow > 0 else (enters, None))))
        return warm

    def losses(flows, warm):
        out = []
        for number, (section, flow) in enumerate(zip(sections, flows)):
            if flow == 0:
                out.append(0.0)
                continue
            middle = (warm[number][0] + warm[number][1]) / 2
            state = ("T", middle, "P", pressure, "Air")
            loss = own_loss(section, flow, PropsSI("D", *state), PropsSI("V", *state))
            if section.fed_by is not None:
                trunk = sections[section.fed_by]
                branches = [n for n in feeds[section.fed_by] if sections[n].leaves != "straight"]
                if branches:
                    branch = sections[branches[0]]
                    before = flows[section.fed_by]
                    tee = (trunk.bore, branch.bore, before - flows[branches[0]], flows[branches[0]], float(branch.leaves))
                    law = fluids.fittings.K_branch_diverging_Crane if number == branches[0] else fluids.fittings.K_run_diverging_Crane
                    heat_of_trunk = (warm[section.fed_by][0] + warm[section.fed_by][1]) / 2
                    density = PropsSI("D", "T", heat_of_trunk, "P", pressure, "Air")
                    loss += fluids.dP_from_K(law(*tee), density, before / density / area(trunk))
            out.append(loss)
        return out

    def unbalance(logarithms):
        flows = flows_of(logarithms)
        total = flows[0]
        warm = temperatures(flows)
        lost = losses(flows, warm)
        gives = blocked * cold / RATING_DENSITY * (1 - (total / cold / free) ** 2)
        gives -= sum(own_loss(duct, total, cold, cold_viscosity) for duct in return_side)
        if outlet_bore:
            density = PropsSI("D", "T", (warm[0][0] + warm[0][1]) / 2, "P", pressure, "Air")
            gives += density / 2 * (total / density / (math.pi / 4 * (outlet_bore / 1000) ** 2)) ** 2
        return [(gives - sum(lost[n] for n in path(leaf))) / blocked for leaf in leaves]

    for part in (0.6, 0.3, 0.15, 0.05):
        start = [math.log(part * free * cold / len(leaves))] * len(leaves)
        answer = root(unbalance, start, method="hybr", tol=1e-12)
        if max(abs(left) for left in unbalance(answer.x)) < 1e-8:
            break
    else:
        raise ArithmeticError(f"{[section.spelled() for section in sections]}: {answer.message}")
    flows = flows_of(answer.x)
    for section, flow in zip(sections, flows):
        reynolds = 4 * flow / (math.pi * section.bore / 1000 * cold_viscosity)
        assert flow == 0 or section.length == 0 or not 1900 < reynolds < 4500, f"Re {reynolds} is in doubt"
    return flows, temperatures(flows), losses(flows, temperatures(flows)), cold


def row(fan, return_side, sections, celsius=20, pressure=101325, heat=0, tolerance="5e-3 relative", source=""):
    free, blocked, bore = fan
    flows, warm, lost, cold = solve((free / 3600, blocked, bore), return_side, sections, celsius + 273.15, pressure, heat)
    expected = {"expected_drawn_m3_per_h": flows[0] / cold * 3600}
    for number, flow in enumerate(flows):
        if number:
            expected[f"expected_share_{number}"] = flow / flows[0]
    for number, section in enumerate(sections):
        if section.wall is not None:
            expected[f"expected_end_{number}_K"] = warm[number][1]
    return {
        "free_m3_per_h": free,
        "blocked_Pa": blocked,
        "outlet_bore_mm": bore or "",
        "return_side": "; ".join(section.spelled() for section in return_side),
        "sections": "; ".join(section.spelled() for section in sections),
        "drawn_C": celsius,
        "pressure_Pa": pressure,
        "heat_W": heat,
        **expected,
        "tolerance": tolerance,
        "source": source or f"loop equations, scipy 1.17.1 root; Colebrook, bends, tees of {TEES}; CoolProp 8.0.0 Air",
    }


def plain(fed_by, bore, fittings, end, leaves="straight"):
    """A resistance that goes with the square of the flow, and nothing else."""
    return Section(fed_by, leaves, bore, 0, 0, fittings, (), end)


def network_quadratic():
    """Fixed coefficients only. Where there is one outlet, or boxes without loss, the closed form must agree."""
    def by_hand(fan, return_side, tree, cold=None):
        cold = cold or PropsSI("D", "T", 293.15, "P", 101325, "Air")
        head = lambda section: 1 / (2 * cold * area(section) ** 2)
        def behind(number):
            section = tree[number]
            here = section.fittings * head(section)
            if section.end == "shut":
                return math.inf
            if section.end != "feeds":
                return here + section.end * head(section)
            # Parallel: conductances 1/√R add.
            return here + sum(behind(n) ** -0.5 for n, other in enumerate(tree) if other.fed_by == number) ** -2
        free, blocked, _ = fan
        blocked *= cold / RATING_DENSITY
        drag = behind(0) + sum(section.fittings * head(section) for section in return_side)
        return math.sqrt(blocked / (blocked / (free / 3600 * cold) ** 2 + drag)) / cold * 3600

    cases = [
        ((105, 170, None), [], [plain(None, 90, 0.0, 1.0)]),
        ((105, 170, None), [plain(None, 90, 0.57, "feeds")], [plain(None, 75, 1.9, 1.0)]),
        ((140, 210, None), [plain(None, 60, 1.1, "feeds"), plain(None, 75, 0.3, "feeds")], [plain(None, 60, 4.0, 2.3)]),
        ((85, 120, None), [], [plain(None, 90, 0.8, "feeds"), plain(0, 60, 1.4, 1.0), plain(0, 60, 3.9, 1.0)]),
        ((190, 260, None), [plain(None, 90, 1.3, "feeds")], [plain(None, 90, 0.4, "feeds"), plain(0, 75, 0.6, 1.0), plain(0, 60, 2.0, 1.7)]),
        ((190, 260, None), [], [
            plain(None, 90, 0.4, "feeds"), plain(0, 75, 0.6, "feeds"), plain(0, 60, 2.0, 1.0), plain(1, 60, 0.9, 1.0),
            plain(1, 60, 2.6, 1.4),
        ]),
        ((105, 170, None), [plain(None, 75, 2.0, "feeds")], [
            plain(None, 90, 0.2, "feeds"), plain(0, 90, 0.3, "feeds"), plain(0, 60, 1.0, "feeds"), plain(1, 75, 0.5, 1.0),
            plain(1, 60, 0.8, 1.0), plain(2, 55, 0.4, 1.0), plain(2, 55, 3.0, 2.0),
        ]),
        ((105, 170, None), [], [plain(None, 90, 0.8, "feeds"), plain(0, 60, 1.4, 1.0), plain(0, 60, 3.9, "shut")]),
    ]
    for fan, return_side, tree in cases:
        made = row(fan, return_side, tree, tolerance="1e-3 relative",
                   source="series and parallel in closed form; loop equations by scipy 1.17.1 root agree to 1e-7")
        assert abs(made["expected_drawn_m3_per_h"] / by_hand(fan, return_side, tree) - 1) < 1e-7
        yield made


def duct(fed_by, leaves, bore, length, end, bends=(), fittings=0.0, roughness=0.9, wall=None):
    return Section(fed_by, leaves, bore, length, roughness, fittings, bends, end, wall)


def network_ducts():
    entrance = lambda bore, length: Section(None, "straight", bore, length, 0.9, 0.57, ((90, 1.5),), "feeds")
    small, middle, large = (85, 120, 60), (105, 170, 90), (185, 260, 90)
    yield row(small, [], [duct(None, "straight", 60, 1.2, 1.0)])
    yield row(small, [entrance(60, 0.8)], [duct(None, "straight", 60, 3.4, 1.0, ((90, 1.5), (45, 1.5)))], celsius=5)
    yield row(middle, [], [duct(None, "straight", 90, 4.8, 1.6, ((90, 1.2), (90, 1.2), (60, 2.0)))], pressure=84000)
    yield row((150, 230, 90), [entrance(90, 1.5)], [
        duct(None, "straight", 90, 0.7, "feeds"), duct(0, "straight", 90, 1.1, 1.0), duct(0, 90, 75, 2.3, 1.0, ((90, 1.5),)),
    ])
    yield row(middle, [], [
        duct(None, "straight", 90, 0.5, "feeds"), duct(0, "straight", 90, 2.6, 1.0, ((90, 1.5), (90, 1.5))), duct(0, 45, 75, 1.8, 1.0),
    ], celsius=-10)
    yield row(large, [entrance(100, 2.2)], [
        duct(None, "straight", 90, 0.9, "feeds", ((30, 1.5),)), duct(0, "straight", 90, 1.4, "feeds"),
        duct(0, 90, 60, 0.6, 1.0), duct(1, "straight", 75, 2.0, 1.0, fittings=0.2), duct(1, 90, 60, 1.9, 1.0, ((90, 1.0),)),
    ])
    yield row(large, [], [
        duct(None, "straight", 90, 0.4, "feeds"), duct(0, "straight", 90, 0.8, "feeds"), duct(0, 60, 60, 3.6, "shut"),
        duct(1, "straight", 90, 5.2, 1.9, ((90, 1.5), (90, 1.5), (90, 1.5))), duct(1, 45, 75, 1.0, 1.3),
    ], pressure=95000)
    yield row(large, [entrance(90, 3.0)], [
        duct(None, "straight", 90, 0.8, "feeds"), duct(0, "straight", 90, 0.5, "feeds"), duct(0, 90, 75, 0.7, "feeds"),
        duct(1, "straight", 90, 2.4, 1.0), duct(1, 90, 60, 1.3, 1.0), duct(2, "straight", 75, 0.6, 1.0), duct(2, 90, 60, 4.1, 1.0),
    ])
    yield row((320, 420, 120), [entrance(120, 1.1)], [
        duct(None, "straight", 120, 1.0, "feeds", roughness=0.15), duct(0, "straight", 120, 6.0, 1.0, ((90, 1.5),), roughness=0.15),
        duct(0, 90, 75, 0.9, 2.4, roughness=3.0),
    ], pressure=78000, celsius=30)
    # Long narrow tubes: laminar throughout.
    yield row((2.6, 30, None), [], [
        duct(None, "straight", 40, 2.0, "feeds", roughness=0.0), duct(0, "straight", 20, 3.0, 1.0, roughness=0.0),
        duct(0, "straight", 20, 5.0, 1.0, roughness=0.0),
    ], source="loop equations, scipy 1.17.1 root; Hagen-Poiseuille; CoolProp 8.0.0 Air")


def network_warm():
    """Heat from the heater, and ducts that lose some of it; air is lighter where it is warmer."""
    indoors = lambda bore, around=18: (bore + 3, 0, 0.035, 7.7, around)
    lagged = lambda bore, around=-15: (bore + 3, 20, 0.035, 25, around)
    bare = lambda bore, around=-15: (bore + 3, 0, 0.035, 25, around)
    middle, large = (105, 170, 90), (185, 260, 90)
    entrance = Section(None, "straight", 90, 0.9, 0.9, 0.57, (), "feeds")
    yield row(middle, [], [duct(None, "straight", 90, 1.1, 1.0, wall=indoors(90))], heat=2000)
    yield row(middle, [entrance], [duct(None, "straight", 90, 3.5, 1.0, ((90, 1.5),), wall=bare(90))], heat=2000, celsius=18)
    yield row(middle, [entrance], [duct(None, "straight", 90, 3.5, 1.0, ((90, 1.5),), wall=lagged(90))], heat=900, celsius=18)
    yield row((150, 230, 90), [], [
        duct(None, "straight", 90, 0.8, "feeds", wall=indoors(90)), duct(0, "straight", 90, 1.2, 1.0, wall=indoors(90)),
        duct(0, 90, 75, 2.8, 1.0, ((90, 1.5),), wall=lagged(75)),
    ], heat=1900, celsius=15)
    yield row(large, [entrance], [
        duct(None, "straight", 90, 0.8, "feeds", wall=indoors(90)), duct(0, "straight", 90, 2.2, "feeds", wall=bare(90)),
        duct(0, 45, 60, 1.8, 1.0), duct(1, "straight", 75, 0.9, 1.0, fittings=0.2, wall=bare(75)),
        duct(1, 90, 60, 3.0, 1.0, wall=bare(60, -30)),
    ], heat=3700, celsius=12, pressure=88000)


def network_duct_temperature():
    """Expected is the drop of the air over the duct, and how far the surface is above what is around."""
    for bore, length, flow, celsius, wall in (
        (60, 2.0, 0.016, 92, (63, 0, 0.035, 7.7, 18)), (60, 5.5, 0.011, 118, (63, 0, 0.035, 25.0, -20)),
        (75, 3.0, 0.030, 75, (78, 13, 0.04, 7.7, 5)), (75, 8.0, 0.022, 104, (78, 25, 0.035, 25.0, -30)),
        (90, 1.5, 0.035, 66, (93, 0, 0.035, 7.7, 20)), (90, 4.0, 0.028, 135, (93, 0, 0.035, 25.0, -10)),
        (90, 6.0, 0.009, 110, (93, 10, 0.04, 7.7, 12)), (120, 3.0, 0.075, 58, (123, 0, 0.035, 25.0, 2)),
        (24, 1.6, 0.0006, 70, (27, 0, 0.035, 7.7, 20)), (60, 1.0, 0.018, 12, (63, 0, 0.035, 7.7, 30)),
    ):
        section = Section(None, "straight", bore, length, 0.9, 0, (), 1.0, wall)
        end, surface = along(section, flow, celsius + 273.15, 101325)
        yield {
            "bore_mm": bore, "length_m": length, "flow_kg_per_s": flow, "enters_C": celsius,
            "outside_mm": wall[0], "lagging_mm": wall[1], "lagging_W_per_m_K": wall[2], "outer_film_W_per_m2_K": wall[3],
            "around_C": wall[4],
            "expected_drop_K": celsius + 273.15 - end,
            "expected_surface_above_K": surface - wall[4] - 273.15,
            "tolerance": "2e-2 relative",
            "source": "enthalpy integrated by scipy 1.17.1 solve_ivp, Gnielinski with CoolProp 8.0.0 Air; tolerance: constant c_p and Prandtl number",
        }


MAKERS = (
    network_tee, network_narrowing, network_air_conductivity, network_quadratic, network_ducts, network_warm,
    network_duct_temperature,
)
