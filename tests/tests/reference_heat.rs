//! Heat demand, materials, warm-up and the night against the outside world: general-purpose libraries and an integrator.
//! Laws that hold for all inputs are in `laws_heat.rs`.

use spec_lang::physics::air;
use spec_lang::physics::heat::{self, HeatDirection};
use spec_lang::physics::materials::{self, Material};
use spec_lang::physics::night::{self, Battery, BelowLowest, Burner, Failure, Inputs, Room, Stage};
use spec_lang::units::*;
use trialfit_tests::reference::{Row, Table};

fn celsius(row: &Row, column: &str) -> Temperature {
    Temperature::celsius(row.number(column))
}

fn kelvin(row: &Row, column: &str) -> TemperatureDifference {
    TemperatureDifference::kelvin_difference(row.number(column))
}

fn amperes(row: &Row, column: &str) -> Current {
    Current::amperes(row.number(column))
}

fn watts(row: &Row, column: &str) -> Power {
    Power::watts(row.number(column))
}

fn material(word: &str) -> &'static Material {
    materials::find(word).unwrap_or_else(|| panic!("no material `{word}`"))
}

#[test]
fn materials_are_those_of_the_standard_and_the_handbook() {
    let table = Table::read("vectors/materials.csv");
    for row in table.rows() {
        let found = material(row.text("word"));
        row.check("expected_conductivity_W_per_m_K", found.conductivity.in_watts_per_metre_kelvin());
        if row.maybe("expected_density_kg_per_m3").is_some() {
            row.check("expected_density_kg_per_m3", found.density.in_kilograms_per_cubic_metre());
            row.check("expected_specific_heat_J_per_kg_K", found.specific_heat.in_joules_per_kilogram_kelvin());
        }
    }
    table.finish();
}

#[test]
fn every_word_means_one_material_and_insulation_is_told_from_the_rest() {
    let mut words: Vec<&str> = materials::words().collect();
    let all = words.len();
    words.sort_unstable();
    words.dedup();
    assert_eq!(words.len(), all);
    for found in materials::MATERIALS {
        let [lambda, density] =
            [found.conductivity.in_watts_per_metre_kelvin(), found.density.in_kilograms_per_cubic_metre()];
        assert!((0.015..400.0).contains(&lambda) && (5.0..9000.0).contains(&density), "{:?}", found.words);
        // Cork tiles are printed as 65 in a library that is in wide use; light stuff insulates, heavy stuff does not.
        assert_eq!(lambda <= 0.0651, density <= 200.0 || found.words.contains(&"cork-tiles"), "{:?}", found.words);
        assert!(found.words.iter().all(|word| materials::find(&word.to_uppercase()) == Some(found)));
    }
    assert!(materials::find("unobtainium").is_none() && materials::find("").is_none());
}

fn layer(text: &str) -> (Length, ThermalConductivity) {
    let (thickness, conductivity) = text.split_once('/').expect("a layer");
    let of = |text: &str| text.parse::<f64>().expect("a number");
    (Length::millimetres(of(thickness)), ThermalConductivity::watts_per_metre_kelvin(of(conductivity)))
}

fn direction(word: &str) -> HeatDirection {
    match word {
        "up" => HeatDirection::Upwards,
        "down" => HeatDirection::Downwards,
        _ => HeatDirection::Horizontal,
    }
}

#[test]
fn a_room_asks_for_what_a_units_library_and_a_real_gas_say() {
    let table = Table::read("vectors/room_demand.csv");
    for row in table.rows() {
        let mut surfaces = Vec::new();
        for cell in row.text("surfaces").split('|') {
            let words: Vec<&str> = cell.split(' ').collect();
            let number = |at: usize| words[at].parse::<f64>().expect("a number");
            let value = |text: &str| {
                let layers: Vec<(Length, ThermalConductivity)> = text.split(';').map(layer).collect();
                let inner = heat::inner_surface_resistance(direction(words[0]));
                heat::transmittance(&layers, inner, heat::OUTER_SURFACE_RESISTANCE).expect("a U-value")
            };
            let whole = heat::bridged_transmittance(value(words[3]), value(words[4]), number(2));
            surfaces.push((whole, Area::square_metres(number(1))));
        }
        let (inside, outside) = (celsius(row, "inside_C"), celsius(row, "outside_C"));
        let counted = if row.text("counted") == "inside" { inside } else { outside };
        let flow = heat::air_change_flow(Volume::cubic_metres(row.number("volume_m3")), row.number("changes_per_h"));
        let leak = heat::infiltration_loss(flow, air::density_at(Length::metres(row.number("altitude_m")), counted));
        let through = heat::transmission_loss(&surfaces);
        let people = heat::HEAT_OF_A_PERSON * row.number("people");
        row.check("expected_transmission_W_per_K", through.in_watts_per_kelvin());
        row.check("expected_leakage_W_per_K", leak.in_watts_per_kelvin());
        row.check("expected_demand_W", (heat::heat_demand(through + leak, inside, outside) - people).in_watts());
    }
    table.finish();
}

#[test]
fn layers_store_what_the_rule_of_iso_13786_sums() {
    let table = Table::read("vectors/room_store.csv");
    for row in table.rows() {
        let layers: Vec<(Length, &Material)> = row
            .text("layers")
            .split(';')
            .map(|layer| {
                let (thickness, word) = layer.split_once(' ').expect("a layer");
                (Length::millimetres(thickness.parse().expect("a thickness")), material(word))
            })
            .collect();
        let area = Area::square_metres(row.number("area_m2"));
        row.check("expected_store_J_per_K", heat::stored_by_layers(&layers, area).in_joules_per_kelvin());
    }
    table.finish();
}

fn room(row: &Row, set: &str) -> Room {
    let [loss, light_loss, film] = ["loss_W_per_K", "light_W_per_K", "film_W_per_K"]
        .map(|column| HeatLossCoefficient::watts_per_kelvin(row.number(column)));
    let [air_store, mass_store] =
        ["air_J_per_K", "mass_J_per_K"].map(|column| HeatCapacity::joules_per_kelvin(row.number(column)));
    let [outside, start] = ["outside_C", "start_C"].map(|column| celsius(row, column));
    Room { loss, light_loss, film, air_store, mass_store, people: Power::ZERO, outside, start, set: celsius(row, set) }
}

#[test]
fn a_room_warms_as_its_heat_balance_integrates() {
    let table = Table::read("vectors/room_warm_up.csv");
    for row in table.rows() {
        let room = room(row, "target_C");
        let in_time = |heat: Power| night::warm_up(&room, heat).expect("a time").in_seconds();
        row.check("expected_time_s", in_time(watts(row, "heat_W")));
        // The heat that takes the wanted time, put in, takes the wanted time.
        let needed = Power::watts(row.expect("expected_heat_for_it_W"));
        assert!((in_time(needed) / row.number("wanted_s") - 1.0).abs() < 1e-7, "{}", row.place());
        if room.mass_store == HeatCapacity::ZERO {
            let time = heat::warm_up_time(room.start, room.outside, room.set, needed, room.loss, room.air_store);
            assert!(
                (time.expect("a time").in_seconds() / row.number("wanted_s") - 1.0).abs() < 1e-7,
                "{}",
                row.place()
            );
        }
    }
    table.finish();
}

#[test]
fn nights_are_as_an_integrator_walks_them() {
    let table = Table::read("vectors/nights.csv");
    for row in table.rows() {
        let hour = |column: &str| Time::seconds(row.number(column) * 3600.0);
        let stage = |current: &str, lasts: &str| Stage {
            current: amperes(row, current),
            lasts: Time::seconds(row.number(lasts)),
            waited_out: false,
        };
        let starting = [stage("preheat_A", "preheat_s"), stage("ignition_A", "ignition_s")];
        let stopping = [stage("afterglow_A", "afterglow_s"), stage("cooldown_A", "cooldown_s")];
        let (empty, charged) = (row.number("empty_V"), row.number("charged_V"));
        let resistance = Resistance::milliohms(row.number("resistance_mohm"));
        let voltage =
            |share: f64, current: Current| Voltage::volts(empty + (charged - empty) * share) - current * resistance;
        let inputs = Inputs {
            room: Room { people: watts(row, "people_W"), ..room(row, "set_C") },
            burner: Burner {
                output: [watts(row, "low_W"), watts(row, "high_W")],
                fuel: ["low_fuel_L_per_h", "high_fuel_L_per_h"]
                    .map(|column| VolumeFlow::litres_per_hour(row.number(column))),
                current: [amperes(row, "low_A"), amperes(row, "high_A")],
                standby: amperes(row, "standby_A"),
                starting: &starting,
                stopping: &stopping,
                below_lowest: if row.text("below") == "stops" { BelowLowest::Stops } else { BelowLowest::RunsOn },
                stops_above: kelvin(row, "above_K"),
                restarts_below: kelvin(row, "restart_K"),
            },
            battery: Some(Battery {
                full: Charge::ampere_hours(row.number("full_Ah")),
                charge: Charge::ampere_hours(row.number("charge_Ah")),
                rated: amperes(row, "rated_A"),
                exponent: row.number("exponent"),
                other: amperes(row, "other_A"),
                voltage: &voltage,
                lowest: Some(Voltage::volts(row.number("limit_V"))),
            }),
            fuel: Some(Volume::cubic_metres(row.number("tank_L") / 1e3)),
            lasts: hour("hours"),
        };
        let found = night::night(&inputs).expect("a night");
        let hours = |time: Time| time.in_seconds() / 3600.0;
        row.check("expected_starts", found.starts as f64);
        row.check("expected_burning_h", hours(found.burning));
        row.check("expected_at_lowest_h", hours(found.at_lowest));
        row.check("expected_fuel_L", found.fuel.in_cubic_metres() * 1e3);
        row.check("expected_heat_MJ", found.heat.in_joules() / 1e6);
        row.check("expected_lost_MJ", found.lost.in_joules() / 1e6);
        row.check("expected_charge_left_Ah", found.charge.expect("a battery").in_ampere_hours());
        let (lowest, when) = found.lowest_voltage.expect("a start");
        row.check("expected_lowest_voltage_V", lowest.in_volts());
        row.check("expected_lowest_voltage_at_h", hours(when));
        row.check("expected_warmest_K", found.warmest.in_kelvin());
        row.check("expected_at_end_K", found.at_end.in_kelvin());
        row.check("expected_mass_at_end_K", found.mass_at_end.in_kelvin());
        row.check("expected_below_set_h", hours(found.below_set));
        match row.maybe("expected_warm_up_s") {
            Some(_) => {
                row.check("expected_warm_up_s", found.warm_up.expect("a time").in_seconds());
                row.check("expected_coldest_K", found.coldest.expect("a temperature").in_kelvin());
            }
            None => assert!(found.warm_up.is_none() && found.coldest.is_none(), "{}", row.place()),
        }
        if row.maybe("expected_cycle_s").is_some() {
            row.check("expected_cycle_s", found.cycle.expect("a cycle").in_seconds());
        }
        match found.failed {
            Some((why, when)) => {
                let said = match why {
                    Failure::Voltage => "voltage",
                    Failure::Charge => "charge",
                    Failure::Fuel => "fuel",
                };
                assert_eq!(said, row.text("failure"), "{}", row.place());
                row.check("expected_failed_at_h", hours(when));
            }
            None => assert_eq!(row.text("failure"), "", "{}", row.place()),
        }
    }
    table.finish();
}
