//! Combustion and hot pipes against the outside world: vectors made by general-purpose libraries, and printed figures.
//! Laws that hold for all inputs are in `laws_combustion.rs`.

use spec_lang::physics::air;
use spec_lang::physics::combustion::{self, Products};
use spec_lang::physics::duct_flow::Duct;
use spec_lang::physics::exhaust_flow::{self, Pipe};
use spec_lang::physics::fuel::{self, ClimateClass, Fuel};
use spec_lang::units::*;
use trialfit_tests::reference::{Row, Table};

const DIESEL: Fuel = Fuel::Diesel(ClimateClass::D);

fn fuel_of(row: &Row) -> Fuel {
    match row.text("fuel") {
        "diesel" => DIESEL,
        "petrol" => Fuel::Petrol,
        other => panic!("{}: fuel {other}", row.place()),
    }
}

fn celsius(row: &Row, column: &str) -> Temperature {
    Temperature::celsius(row.number(column))
}

fn millimetres(row: &Row, column: &str) -> Length {
    Length::millimetres(row.number(column))
}

fn pressure(row: &Row) -> Pressure {
    Pressure::pascals(row.number("pressure_Pa"))
}

fn products(fuel: Fuel, row: &Row) -> Products {
    combustion::products(fuel, row.number("excess_air")).expect("products")
}

fn grams_per_second(row: &Row) -> MassFlow {
    MassFlow::kilograms_per_second(row.number("flow_g_per_s") * 1e-3)
}

#[test]
fn what_burns_and_what_leaves_balances_every_element() {
    let table = Table::read("vectors/combustion_products.csv");
    for row in table.rows() {
        let fuel = fuel_of(row);
        let one = MassFlow::kilograms_per_second(1.0);
        let excess = row.number("excess_air");
        let air = combustion::combustion_air(fuel, one, excess).expect("air");
        row.check("expected_air_kg_per_kg", air / one);
        row.check("expected_exhaust_kg_per_kg", combustion::exhaust(fuel, one, excess).expect("exhaust") / one);
        row.check("expected_water_kg_per_kg", combustion::water_made(fuel));
        let gas = products(fuel, row);
        row.check("expected_dry_carbon_dioxide", gas.dry(gas.carbon_dioxide));
        row.check("expected_dry_oxygen", gas.dry(gas.oxygen));
        row.check("expected_wet_water", gas.water);
        row.check("expected_wet_nitrogen", gas.nitrogen);
        row.check("expected_molar_mass_g_per_mol", gas.molar_mass());
    }
    table.finish();
}

/// Source: handbooks print 14.5 to 14.7 kg of air for a kilogram of diesel or petrol, and 15.3 to 15.5 % of carbon dioxide
/// at most in the dry gas of light heating oil (from memory).
#[test]
fn fuels_burn_as_handbooks_print() {
    assert!((14.5..14.7).contains(&combustion::stoichiometric_air(DIESEL)));
    assert!((14.5..14.7).contains(&combustion::stoichiometric_air(Fuel::Petrol)));
    let gas = combustion::products(DIESEL, 0.0).expect("products");
    assert!((0.152..0.155).contains(&gas.dry(gas.carbon_dioxide)), "{}", gas.dry(gas.carbon_dioxide));
}

#[test]
fn exhaust_holds_the_heat_of_its_gases() {
    let table = Table::read("vectors/combustion_gas.csv");
    for row in table.rows() {
        let (gas, at) = (products(fuel_of(row), row), celsius(row, "temperature_C"));
        row.check("expected_specific_heat_J_per_kg_K", gas.gas_heat().at(at));
        let heat = gas.gas_heat().between(Temperature::celsius(20.0), at);
        row.check("expected_heat_from_20_C_J_per_kg", heat);
    }
    table.finish();
}

#[test]
fn exhaust_weighs_what_its_gases_weigh() {
    let table = Table::read("vectors/combustion_density.csv");
    for row in table.rows() {
        let density = products(DIESEL, row).density(pressure(row), celsius(row, "temperature_C"));
        row.check("expected_density_kg_per_m3", density.in_kilograms_per_cubic_metre());
    }
    table.finish();
}

#[test]
fn water_falls_out_where_steam_tables_say() {
    let table = Table::read("vectors/exhaust_dew_point.csv");
    for row in table.rows() {
        let dew = products(fuel_of(row), row).dew_point(pressure(row)).expect("a dew point");
        row.check("expected_dew_point_C", dew.in_celsius());
    }
    table.finish();
    let table = Table::read("vectors/exhaust_condensate.csv");
    for row in table.rows() {
        let share = products(DIESEL, row).condensed_share(pressure(row), celsius(row, "temperature_C"));
        row.check("expected_share", share.expect("a share"));
    }
    table.finish();
}

#[test]
fn gas_leaves_the_heater_as_hot_as_its_heat_balance_says() {
    let table = Table::read("vectors/exhaust_port_temperature.csv");
    for row in table.rows() {
        let fuel = fuel_of(row);
        let flow = MassFlow::kilograms_per_second(row.number("fuel_g_per_h") / 3.6e6);
        let heating = fuel::lower_heating_value(fuel).in_joules_per_kilogram();
        let power = Power::watts(flow.in_kilograms_per_second() * heating);
        let exhaust = combustion::exhaust(fuel, flow, row.number("excess_air")).expect("exhaust");
        let heat = power * row.number("efficiency");
        let port =
            combustion::port_temperature(&products(fuel, row).gas_heat(), exhaust, power, heat, celsius(row, "air_C"));
        row.check("expected_port_C", port.expect("a temperature").in_celsius());
    }
    table.finish();
}

#[test]
fn altitude_takes_the_excess_air() {
    let table = Table::read("vectors/excess_air_at_altitude.csv");
    for row in table.rows() {
        let altitude = Length::metres(row.number("altitude_m"));
        let standard = row.text("temperature_C") == "standard";
        let density = if standard {
            air::standard_density(altitude)
        } else {
            air::density_at(altitude, celsius(row, "temperature_C"))
        };
        let (excess, dense) = (row.number("excess_air"), row.number("fuel_ratio"));
        let left = combustion::excess_air_left(excess, combustion::air_ratio(density), dense);
        row.check("expected_excess_air_left", left.expect("an excess"));
        let limit = combustion::density_without_excess(excess, dense).expect("a density");
        let height = if standard {
            air::altitude_of_standard_density(limit)
        } else {
            let weight = limit.in_kilograms_per_cubic_metre() * air::GAS_CONSTANT_OF_AIR;
            air::altitude_of_pressure(Pressure::pascals(weight * celsius(row, "temperature_C").in_kelvin()))
        };
        row.check("expected_altitude_without_excess_km", height.expect("an altitude").in_metres() / 1000.0);
    }
    table.finish();
    let table = Table::read("vectors/altitude_of_air.csv");
    for row in table.rows() {
        let by_pressure = air::altitude_of_pressure(pressure(row)).expect("an altitude");
        row.check("expected_altitude_m", by_pressure.in_metres());
        let density = Density::kilograms_per_cubic_metre(row.number("density_kg_per_m3"));
        let by_density = air::altitude_of_standard_density(density).expect("an altitude");
        assert!((by_density - by_pressure).abs() < Length::metres(0.5), "{}", row.place());
    }
    table.finish();
}

/// Source: arithmetic on the standard atmosphere; 0.80 on a standard day at 2400 m, 0.86 at -20 °C, of air at 20 °C and sea level.
#[test]
fn a_high_pass_leaves_eighty_hundredths_of_the_air() {
    let pass = Length::metres(2400.0);
    let standard = combustion::air_ratio(air::standard_density(pass));
    assert!((standard - 0.80).abs() < 0.005, "{standard}");
    let cold = combustion::air_ratio(air::density_at(pass, Temperature::celsius(-20.0)));
    assert!((cold - 0.86).abs() < 0.005, "{cold}");
}

#[test]
fn films_of_a_pipe_are_those_of_the_heat_transfer_library() {
    let table = Table::read("vectors/pipe_films.csv");
    for row in table.rows() {
        match row.maybe("reynolds") {
            Some(reynolds) => row.check("expected_nusselt", exhaust_flow::nusselt_number(reynolds)),
            None => {
                let film = exhaust_flow::outside_film(
                    millimetres(row, "outside_mm"),
                    celsius(row, "surface_C"),
                    celsius(row, "air_C"),
                    row.number("emissivity"),
                );
                row.check("expected_film_W_per_m2_K", film.expect("a film").in_watts_per_square_metre_kelvin());
            }
        }
    }
    table.finish();
}

#[test]
fn gas_cools_along_a_pipe_as_its_equation_integrates() {
    let table = Table::read("vectors/hot_pipe.csv");
    for row in table.rows() {
        let lagging = millimetres(row, "lagging_mm");
        let lagged = lagging > Length::ZERO;
        let pipe = Pipe {
            bore: millimetres(row, "bore_mm"),
            outside: millimetres(row, "outside_mm"),
            lagging,
            conductivity: exhaust_flow::CONDUCTIVITY_OF_LAGGING,
            emissivity: if lagged { exhaust_flow::EMISSIVITY_OF_LAGGING } else { exhaust_flow::EMISSIVITY_OF_PIPE },
        };
        let (flow, air) = (grams_per_second(row), celsius(row, "air_C"));
        let (gas, start) = (products(DIESEL, row), celsius(row, "start_C"));
        let length = Length::metres(row.number("length_m"));
        let along = exhaust_flow::along_length(pipe, length, &gas.gas_heat(), flow, start, air, None).expect("a pipe");
        let end = along.gas;
        row.check("expected_end_above_air_K", end.above(air).in_kelvin_difference());
        let surface = |at| exhaust_flow::wall(pipe, flow, at, air).expect("a wall").surface.above(air);
        row.check("expected_surface_at_start_above_air_K", surface(start).in_kelvin_difference());
        row.check("expected_surface_at_end_above_air_K", surface(end).in_kelvin_difference());
    }
    table.finish();
}

#[test]
fn hot_gas_loses_pressure_at_its_own_density() {
    let table = Table::read("vectors/hot_pipe_loss.csv");
    for row in table.rows() {
        let at = celsius(row, "temperature_C");
        let duct = Duct {
            bore: millimetres(row, "bore_mm"),
            length: Length::metres(row.number("length_m")),
            roughness: millimetres(row, "roughness_mm"),
            fittings: row.number("fittings"),
        };
        let density = products(DIESEL, row).density(pressure(row), at);
        let loss = exhaust_flow::pressure_loss(duct, grams_per_second(row), density, at);
        row.check("expected_loss_Pa", loss.expect("a loss").in_pascals());
    }
    table.finish();
}
