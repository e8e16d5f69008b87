//! Warm-air networks against the outside world: vectors made by a root finder, an integrator and general-purpose
//! libraries. Laws that hold for all networks are in `laws_network.rs`.

use spec_lang::physics::duct_flow::{self, Duct};
use spec_lang::physics::network::{self, Fan, Leaves, Section, SectionEnd, Supply, Wall};
use spec_lang::units::*;
use trialfit_tests::reference::{Row, Table};

fn number(text: &str) -> f64 {
    text.parse().unwrap_or_else(|_| panic!("a number, not `{text}`"))
}

/// A wall as the vectors spell it: outside and lagging in mm, conductivity, outer film, temperature around in °C.
fn wall([outside, lagging, conductivity, film, around]: [f64; 5]) -> Wall {
    Wall {
        outside: Length::millimetres(outside),
        lagging: Length::millimetres(lagging),
        conductivity: ThermalConductivity::watts_per_metre_kelvin(conductivity),
        outer_film: ThermalTransmittance::watts_per_square_metre_kelvin(film),
        around: Temperature::celsius(around),
    }
}

/// A section as the vectors spell it.
fn section(spelled: &str) -> Section {
    let parts: Vec<&str> = spelled.split_whitespace().collect();
    let [fed_by, leaves, bore, length, roughness, fittings, bends, end, its_wall] = parts[..] else {
        panic!("nine parts, not `{spelled}`")
    };
    let (mut its_bends, mut fittings, bore) = (0.0, number(fittings), Length::millimetres(number(bore)));
    for (angle, ratio) in bends.split('+').filter_map(|bend| bend.split_once('/')) {
        let angle = Angle::degrees(number(angle));
        let (bores, coefficient) = network::bend_in_parts(angle, number(ratio)).expect("a bend");
        its_bends += bores;
        fittings += coefficient;
    }
    Section {
        fed_by: (fed_by != "-").then(|| number(fed_by) as usize),
        leaves: if leaves == "straight" { Leaves::Straight } else { Leaves::Branch(Angle::degrees(number(leaves))) },
        duct: Duct {
            bore,
            length: Length::metres(number(length)),
            roughness: Length::millimetres(number(roughness)),
            fittings,
        },
        bends: its_bends,
        end: match end {
            "feeds" => SectionEnd::Feeds,
            "shut" => SectionEnd::Shut,
            coefficient => SectionEnd::Outlet(number(coefficient)),
        },
        wall: (its_wall != "-").then(|| {
            let parts: Vec<f64> = its_wall.split('/').map(number).collect();
            wall(parts.try_into().expect("five parts of a wall"))
        }),
    }
}

fn sections(text: &str) -> Vec<Section> {
    text.split(';').filter(|spelled| !spelled.trim().is_empty()).map(section).collect()
}

fn fan(row: &Row) -> Fan {
    Fan {
        free_flow: VolumeFlow::cubic_metres_per_second(row.number("free_m3_per_h") / 3600.0),
        blocked_pressure: Pressure::pascals(row.number("blocked_Pa")),
        outlet_bore: row.maybe("outlet_bore_mm").map(Length::millimetres),
    }
}

fn check_networks(name: &str) {
    let table = Table::read(name);
    for row in table.rows() {
        let returning: Vec<(Duct, f64)> =
            sections(row.text("return_side")).iter().map(|section| (section.duct, section.bends)).collect();
        let tree = sections(row.text("sections"));
        let supply = Supply {
            drawn: Temperature::celsius(row.number("drawn_C")),
            pressure: Pressure::pascals(row.number("pressure_Pa")),
            heat: Power::watts(row.number("heat_W")),
        };
        let found = network::operate(fan(row), &returning, &tree, supply).expect("an operating point");
        row.check("expected_drawn_m3_per_h", found.drawn.in_cubic_metres_per_second() * 3600.0);
        for (number, state) in found.sections.iter().enumerate() {
            let share = format!("expected_share_{number}");
            if number > 0 && !row.text(&share).is_empty() {
                row.check(&share, state.flow / found.flow);
            }
            if tree[number].wall.is_some() {
                row.check(&format!("expected_end_{number}_K"), state.leaves.in_kelvin());
            }
        }
    }
    table.finish();
}

#[test]
fn quadratic_networks_have_the_closed_form() {
    check_networks("vectors/network_quadratic.csv");
}

#[test]
fn networks_of_ducts_agree_with_loop_equations_and_colebrook() {
    check_networks("vectors/network_ducts.csv");
}

#[test]
fn warm_networks_agree_with_loop_equations_and_integrated_enthalpy() {
    check_networks("vectors/network_warm.csv");
}

#[test]
fn tees_have_the_coefficients_of_crane() {
    let table = Table::read("vectors/network_tee.csv");
    for row in table.rows() {
        let (share, ratio) = (row.number("branch_share"), row.number("branch_over_trunk"));
        let branch = network::tee_branch_coefficient(share, ratio, Angle::degrees(row.number("angle_deg")));
        row.check("expected_branch", branch.expect("a coefficient"));
        let through = network::tee_through_coefficient(share, ratio);
        row.check("expected_through", through.expect("a coefficient"));
    }
    table.finish();
}

#[test]
fn narrowings_have_the_coefficient_of_rennels() {
    let table = Table::read("vectors/network_narrowing.csv");
    for row in table.rows() {
        let (wide, narrow) = (row.number("wide_mm"), row.number("narrow_mm"));
        let coefficient = duct_flow::narrowing_loss_coefficient(Length::millimetres(wide), Length::millimetres(narrow));
        row.check("expected_loss_coefficient", coefficient.expect("a coefficient"));
    }
    table.finish();
}

#[test]
fn air_conducts_heat_as_the_reference_equation_says() {
    let table = Table::read("vectors/network_air_conductivity.csv");
    for row in table.rows() {
        let figure = network::thermal_conductivity(Temperature::celsius(row.number("temperature_C")));
        row.check("expected_W_per_m_K", figure.in_watts_per_metre_kelvin());
    }
    table.finish();
}

#[test]
fn ducts_cool_as_integrated_enthalpy_says() {
    let table = Table::read("vectors/network_duct_temperature.csv");
    for row in table.rows() {
        let duct = Duct {
            bore: Length::millimetres(row.number("bore_mm")),
            length: Length::metres(row.number("length_m")),
            roughness: Length::millimetres(0.9),
            fittings: 0.0,
        };
        let enters = Temperature::celsius(row.number("enters_C"));
        let column = |name: &str| row.number(name);
        let wall = wall([
            column("outside_mm"),
            column("lagging_mm"),
            column("lagging_W_per_m_K"),
            column("outer_film_W_per_m2_K"),
            column("around_C"),
        ]);
        let flow = MassFlow::kilograms_per_second(row.number("flow_kg_per_s"));
        let found = network::duct_temperatures(duct, wall, flow, enters, Pressure::pascals(101_325.0));
        let found = found.expect("temperatures");
        row.check("expected_drop_K", enters.above(found.leaves).in_kelvin_difference());
        row.check("expected_surface_above_K", found.surface.above(wall.around).in_kelvin_difference());
    }
    table.finish();
}

/// A grid that is all free is an open end, or a mouth flush with a wall: 1 and 0.5, the limits that every handbook prints.
#[test]
fn an_open_grille_is_no_grille() {
    assert_eq!(network::outlet_grille_coefficient(1.0), Some(duct_flow::EXIT));
    let mouth = network::inlet_grille_coefficient(1.0).expect("a coefficient");
    assert!((mouth - 0.5).abs() < 1e-3, "{mouth}");
}
