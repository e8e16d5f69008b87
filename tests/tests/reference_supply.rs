//! The electrical supply and the fuel a heater takes, against vectors made by general-purpose libraries and against
//! values printed in standards. Laws that hold for all inputs are in `laws_supply.rs`.

use spec_lang::physics::ampacity::{self, InsulationClass};
use spec_lang::physics::battery::{self, Chemistry};
use spec_lang::physics::conductors::{self, Gauge};
use spec_lang::physics::fuel::{self, ClimateClass, Fuel};
use spec_lang::physics::{bore, fuses};
use spec_lang::units::*;
use trialfit_tests::reference::{Row, Table};

fn celsius(row: &Row, column: &str) -> Temperature {
    Temperature::celsius(row.number(column))
}

fn milliohms(row: &Row, column: &str) -> Resistance {
    Resistance::milliohms(row.number(column))
}

#[test]
fn a_short_circuit_at_the_far_end_draws_opens_and_heats_as_the_circuit_solved() {
    let table = Table::read("vectors/far_end_short_circuit.csv");
    for row in table.rows() {
        let area = Gauge { name: "", number: row.number("gauge") as i32 }.area();
        let length = Length::metres(row.number("one_way_m"));
        let cable = conductors::loop_resistance((area, length), (area, length), celsius(row, "copper_C"));
        let whole = cable.expect("a cable") + milliohms(row, "battery_mohm") + milliohms(row, "other_mohm");
        let open_circuit = Voltage::volts(row.number("open_circuit_V"));
        let current = battery::short_circuit_current(open_circuit, whole).expect("a current");
        row.check("expected_current_A", current.in_amperes());
        let rating = Current::amperes(row.number("fuse_A"));
        let opens = fuses::longest_opening_time(current.in_amperes() / rating.in_amperes());
        let through = fuses::greatest_let_through(rating, current);
        match row.maybe("expected_longest_opening_s") {
            Some(_) => {
                row.check("expected_longest_opening_s", opens.expect("it opens").in_seconds());
                row.check("expected_let_through_A2s", through.expect("it opens"));
            }
            None => assert!(opens.is_none() && through.is_none(), "{}", row.place()),
        }
        let insulation = InsulationClass::met_by(celsius(row, "insulation_C")).expect("a class");
        let limit = ampacity::short_circuit_limit(insulation);
        assert_eq!(limit, celsius(row, "limit_C"), "{}", row.place());
        let bears = ampacity::short_circuit_time(area, current, celsius(row, "insulation_C"), limit);
        row.check("expected_bears_s", bears.expect("a time").in_seconds());
    }
    table.finish();
}

#[test]
fn a_regulated_heater_draws_the_current_that_holds_its_power() {
    let table = Table::read("vectors/regulated_heater.csv");
    for row in table.rows() {
        let open_circuit = Voltage::volts(row.number("open_circuit_V"));
        let resistance = Resistance::ohms(row.number("resistance_ohm"));
        let power = Power::watts(row.number("nominal_V") * row.number("stated_A"));
        let current = battery::current_at_power(open_circuit, resistance, power).expect("a current");
        row.check("expected_current_A", current.in_amperes());
        row.check("expected_voltage_V", battery::loaded_voltage(open_circuit, resistance, current).in_volts());
    }
    table.finish();
}

#[test]
fn a_battery_is_charged_when_the_law_of_charge_acceptance_integrated_says_so() {
    let table = Table::read("vectors/recharge.csv");
    for row in table.rows() {
        let chemistry = match row.text("chemistry") {
            "lithium" => Chemistry::LithiumIronPhosphate,
            _ => Chemistry::LeadAcid,
        };
        let time = battery::recharge_time(
            Charge::ampere_hours(row.number("lacking_Ah")),
            Charge::ampere_hours(row.number("capacity_Ah")),
            Current::amperes(row.number("charger_A")),
            chemistry,
        );
        row.check("expected_hours", time.expect("a time").in_seconds() / 3600.0);
    }
    table.finish();
}

#[test]
fn fuel_is_counted_as_a_units_library_counts_it() {
    let table = Table::read("vectors/fuel_taken.csv");
    for row in table.rows() {
        let fuel = match row.text("fuel") {
            "petrol" => Fuel::Petrol,
            _ => Fuel::Diesel(ClimateClass::D),
        };
        let flow = VolumeFlow::cubic_metres_per_second(row.number("rate_m3_per_s"));
        let output = Power::watts(row.number("output_W"));
        row.check("expected_efficiency", fuel::efficiency(fuel, output, flow).expect("a flow"));
        let dose = Volume::cubic_metres(row.number("dose_mL") * 1e-6);
        row.check("expected_strokes_per_s", fuel::strokes_per_second(flow, dose).expect("a dose"));
        let tank = row.number("usable_L") * 1e-3;
        row.check("expected_hours_on_tank", tank / flow.in_cubic_metres_per_second() / 3600.0);
        let line = bore::volume(Length::millimetres(row.number("bore_mm")), Length::metres(row.number("line_m")));
        let runs = fuel::runs_to_fill(line, flow, Time::seconds(row.number("ignition_s")));
        row.check("expected_runs_to_fill", runs.expect("a flow"));
    }
    table.finish();
}

#[test]
fn a_short_circuit_limit_gives_the_factors_printed_in_iec_60364() {
    // IEC 60364-5-54 table A.54.4 (from memory): 115 for PVC from 70 °C, 143 for cross-linked from 90 °C.
    let factor = |from: f64, limit: Temperature| {
        ampacity::adiabatic_factor(Temperature::celsius(from), limit).expect("a factor")
    };
    assert!((factor(70.0, ampacity::short_circuit_limit(InsulationClass::Celsius60)) - 115.0).abs() < 1.0);
    assert!((factor(90.0, ampacity::short_circuit_limit(InsulationClass::Celsius125)) - 143.0).abs() < 1.0);
}
