//! Laws of combustion and of hot pipes that hold for all inputs: more air is more and cooler gas, a longer pipe is a cooler one,
//! a higher place has less air. Values from outside are in `reference_combustion.rs`.

use proptest::prelude::*;
use spec_lang::bench::judge_example;
use spec_lang::physics::air;
use spec_lang::physics::combustion;
use spec_lang::physics::exhaust_flow::{self, Pipe};
use spec_lang::physics::fuel::{self, ClimateClass, Fuel};
use spec_lang::units::*;

const DIESEL: Fuel = Fuel::Diesel(ClimateClass::F);

fn grams(per_second: f64) -> MassFlow {
    MassFlow::kilograms_per_second(per_second * 1e-3)
}

fn celsius(value: f64) -> Temperature {
    Temperature::celsius(value)
}

fn pipe(bore: f64, lagging: f64) -> Pipe {
    Pipe {
        bore: Length::metres(bore),
        outside: Length::metres(bore + 0.003),
        lagging: Length::metres(lagging),
        conductivity: exhaust_flow::CONDUCTIVITY_OF_LAGGING,
        emissivity: exhaust_flow::EMISSIVITY_OF_PIPE,
    }
}

proptest! {
    #[test]
    fn shares_add_up_to_all_of_the_gas(excess in 0.0..4.0_f64) {
        for fuel in [DIESEL, Fuel::Petrol] {
            let gas = combustion::products(fuel, excess).expect("products");
            let sum = gas.carbon_dioxide + gas.water + gas.oxygen + gas.nitrogen + gas.argon;
            prop_assert!((sum - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn more_air_is_more_gas_and_cooler_gas(
        excess in 0.0..3.0_f64, more in 0.01..1.0_f64, burnt in 0.02..0.3_f64, share in 0.4..0.95_f64, cold in -40.0..35.0_f64,
    ) {
        let flow = grams(burnt);
        let power = Power::watts(flow.in_kilograms_per_second() * fuel::lower_heating_value(DIESEL).in_joules_per_kilogram());
        let leaving = |excess: f64| {
            let exhaust = combustion::exhaust(DIESEL, flow, excess).expect("exhaust");
            let gas = combustion::products(DIESEL, excess).expect("products");
            let port = combustion::port_temperature(&gas.gas_heat(), exhaust, power, power * share, celsius(cold));
            (exhaust, port.expect("a temperature"), gas.dew_point(air::SEA_LEVEL_PRESSURE).expect("a dew point"))
        };
        let (lean, rich) = (leaving(excess + more), leaving(excess));
        prop_assert!(lean.0 > rich.0);
        prop_assert!(lean.1 < rich.1);
        prop_assert!(lean.2 < rich.2);
        prop_assert!(rich.1 > celsius(cold));
    }

    #[test]
    fn a_longer_pipe_is_a_cooler_one(
        bore in 0.015..0.06_f64, lagging in 0.0..0.03_f64, flow in 0.3..6.0_f64, start in 60.0..650.0_f64, cold in -40.0..40.0_f64,
        length in 0.0..3.0_f64, more in 0.01..2.0_f64,
    ) {
        let gas = combustion::products(DIESEL, 0.5).expect("products");
        let after = |length: f64| {
            exhaust_flow::along_length(pipe(bore, lagging), Length::metres(length), &gas.gas_heat(), grams(flow), celsius(start), celsius(cold), None)
                .expect("a temperature")
                .gas
        };
        let (shorter, longer) = (after(length), after(length + more));
        prop_assert!(longer < shorter);
        prop_assert!(longer > celsius(cold) && shorter <= celsius(start));
        // A hair more of pipe is a hair cooler: no step anywhere.
        let hair = after(length + 1e-6);
        prop_assert!((shorter.in_kelvin() - hair.in_kelvin()).abs() < 0.05);
    }

    #[test]
    fn lagging_keeps_the_gas_hot_and_the_outside_cool(
        bore in 0.02..0.05_f64, lagging in 0.004..0.02_f64, flow in 0.8..6.0_f64, start in 150.0..600.0_f64, cold in -30.0..40.0_f64,
    ) {
        let (flow, start, cold) = (grams(flow), celsius(start), celsius(cold));
        let bare = exhaust_flow::wall(pipe(bore, 0.0), flow, start, cold).expect("a wall");
        let lagged = exhaust_flow::wall(pipe(bore, lagging), flow, start, cold).expect("a wall");
        prop_assert!(lagged.surface < bare.surface);
        prop_assert!(lagged.inside > bare.inside);
        prop_assert!(cold < lagged.surface && bare.surface <= bare.inside && bare.inside < start);
    }

    #[test]
    fn a_higher_place_leaves_less_excess_air(
        excess in 0.05..1.5_f64, altitude in 0.0..5000.0_f64, higher in 10.0..3000.0_f64, day in -40.0..30.0_f64,
    ) {
        let left = |altitude: f64| {
            let density = air::density_at(Length::metres(altitude), celsius(day));
            combustion::excess_air_left(excess, combustion::air_ratio(density), 1.0).expect("an excess")
        };
        prop_assert!(left(altitude + higher) < left(altitude));
        // Where it runs out, nothing is left.
        let limit = combustion::density_without_excess(excess, 1.0).expect("a density");
        if let Some(height) = air::altitude_of_standard_density(limit) {
            let there = combustion::air_ratio(air::standard_density(height));
            prop_assert!(combustion::excess_air_left(excess, there, 1.0).expect("an excess").abs() < 1e-9);
        }
    }

    #[test]
    fn colder_gas_holds_less_water(excess in 0.0..2.0_f64, warm in -20.0..60.0_f64, colder in 0.1..30.0_f64) {
        let gas = combustion::products(DIESEL, excess).expect("products");
        let out = |at: f64| gas.condensed_share(air::SEA_LEVEL_PRESSURE, celsius(at)).expect("a share");
        prop_assert!(out(warm - colder) >= out(warm));
        let dew = gas.dew_point(air::SEA_LEVEL_PRESSURE).expect("a dew point").in_celsius();
        prop_assert!(out(dew + 0.01) == 0.0 && out(dew - 0.1) > 0.0);
    }

    #[test]
    fn no_number_makes_a_panic(one in prop::num::f64::ANY, two in prop::num::f64::ANY, three in prop::num::f64::ANY) {
        let (at, other) = (Temperature::kelvin(one), Temperature::kelvin(two));
        let gas = combustion::products(DIESEL, one);
        let some = gas.or(combustion::products(DIESEL, 0.4)).expect("products");
        let _ = (some.gas_heat().at(at), some.gas_heat().between(at, other), some.density(Pressure::pascals(two), at));
        let _ = (some.condensed_share(Pressure::pascals(one), other), some.dew_point(Pressure::pascals(three)));
        let _ = combustion::port_temperature(&some.gas_heat(), grams(one), Power::watts(two), Power::watts(three), at);
        let _ = (combustion::combustion_air(DIESEL, grams(one), two), combustion::density_without_excess(one, three));
        let _ = (combustion::excess_air_left(one, two, three), air::altitude_of_pressure(Pressure::pascals(one)));
        let _ = exhaust_flow::along_length(pipe(one, two), Length::metres(three), &some.gas_heat(), grams(two), at, other, None);
        let _ = exhaust_flow::outside_film(Length::metres(one), at, other, three);
    }
}

/// The value of the bench job's figure of that name, with an example laid over it.
fn figure(example: &str, name: &str) -> f64 {
    let analysis = judge_example(example);
    let found = analysis.shown().list.iter().find(|figure| figure.name == name);
    found.unwrap_or_else(|| panic!("{name} of {example}")).value
}

fn exhaust(lagging: &str, leg: f64, bends: bool) -> String {
    let turn = if bends { "  back 120 mm, down 5 mm\n  right 120 mm, down 5 mm\n" } else { "" };
    format!(
        "exhaust of reader\n  pipe steel, 24 mm bore, 27 mm outside\n  passage floor, hole 60 mm, sealed\n{lagging}  \
         down 140 mm\n{turn}  right {leg:.1} mm, down 30 mm\n  ends facing right"
    )
}

fn over(altitude: f64) -> String {
    format!("job \"Up a hill\"\n  design-cold -15 °C\n  altitude 0 m .. {altitude:.1} m")
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn a_longer_leg_cools_the_gas_and_holds_it_back(leg in 100.0..1500.0_f64, more in 5.0..900.0_f64) {
        let (shorter, longer) = (exhaust("", leg, false), exhaust("", leg + more, false));
        prop_assert!(figure(&longer, "exhaust_at_end") < figure(&shorter, "exhaust_at_end"));
        // Cooler gas is denser and slower, which may outweigh a few millimetres of pipe.
        prop_assert!(figure(&longer, "combustion_pressure") > figure(&shorter, "combustion_pressure") - 0.2);
        prop_assert!(figure(&longer, "exhaust_condensate") >= figure(&shorter, "exhaust_condensate") - 1e-15);
        let lagged = exhaust("  lagged 10 mm\n", leg, false);
        prop_assert!(figure(&lagged, "exhaust_at_end") > figure(&shorter, "exhaust_at_end"));
        prop_assert!(figure(&lagged, "exhaust_surface") < figure(&shorter, "exhaust_surface"));
        let bent = exhaust("", leg, true);
        prop_assert!(figure(&bent, "combustion_pressure") > figure(&shorter, "combustion_pressure"));
    }

    #[test]
    fn a_higher_job_has_less_excess_air(altitude in 50.0..4000.0_f64, more in 5.0..1500.0_f64) {
        let left = |altitude: f64| figure(&over(altitude), "excess_air_at_altitude");
        prop_assert!(left(altitude + more) < left(altitude));
        prop_assert!((left(altitude) - left(altitude + 0.1)).abs() < 1e-4);
    }
}
