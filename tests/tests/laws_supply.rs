//! Laws of the supply and of fuel that hold for all inputs: order, continuity, and an answer for every finite number.
//! Values from outside are in `reference_supply.rs`; whole jobs are judged, so that figures are held too.

use proptest::prelude::*;
use spec_lang::bench::judge_example;
use spec_lang::physics::ampacity::{self, InsulationClass};
use spec_lang::physics::battery::{self, Chemistry};
use spec_lang::physics::fuel::{self, ClimateClass, Fuel};
use spec_lang::physics::fuses;
use spec_lang::units::*;

fn chemistry() -> impl Strategy<Value = Chemistry> {
    prop_oneof![Just(Chemistry::LeadAcid), Just(Chemistry::LithiumIronPhosphate)]
}

fn hours(lacking: f64, capacity: f64, current: f64, chemistry: Chemistry) -> f64 {
    let charge = Charge::ampere_hours;
    let time = battery::recharge_time(charge(lacking), charge(capacity), Current::amperes(current), chemistry);
    time.expect("a time").in_seconds() / 3600.0
}

proptest! {
    #[test]
    fn charging_takes_longer_the_more_is_lacking_and_never_longer_with_a_larger_charger(
        lacking in 0.0..300.0_f64, capacity in 20.0..400.0_f64, current in 0.5..120.0_f64, more in 1.001..3.0_f64,
        chemistry in chemistry(),
    ) {
        let time = hours(lacking, capacity, current, chemistry);
        prop_assert!(time.is_finite() && time >= 0.0);
        prop_assert!(hours(lacking * more, capacity, current, chemistry) >= time);
        prop_assert!(hours(lacking, capacity, current * more, chemistry) <= time + 1e-9);
        // No charger puts more in than its current.
        let least = (lacking - battery::CALLED_CHARGED * capacity).max(0.0) / current;
        prop_assert!(time >= least - 1e-9);
        // A hair more is charged a hair later: the two parts of the law meet.
        let next = hours(lacking + 1e-6, capacity, current, chemistry);
        prop_assert!((next - time).abs() < 1e-4);
    }

    #[test]
    fn a_larger_short_circuit_opens_no_later_and_heats_no_more(
        rating in 1.0..100.0_f64, multiple in 1.35..40.0_f64, more in 1.0001..3.0_f64,
    ) {
        let (rated, current) = (Current::amperes(rating), Current::amperes(rating * multiple));
        let through = fuses::greatest_let_through(rated, current).expect("it opens");
        let larger = Current::amperes(rating * multiple * more);
        prop_assert!(fuses::greatest_let_through(rated, larger).expect("it opens") <= through * (1.0 + 1e-12));
        prop_assert!(fuses::greatest_let_through(rated, Current::amperes(1.34 * rating)).is_none());
    }

    #[test]
    fn better_insulation_bears_a_short_circuit_hotter(
        at in 0..7_usize, next in 0..7_usize,
    ) {
        let classes = InsulationClass::ALL;
        let (one, other) = (classes[at], classes[next]);
        let limits = (ampacity::short_circuit_limit(one), ampacity::short_circuit_limit(other));
        prop_assert!(one <= other || limits.0 >= limits.1);
        prop_assert!(limits.0 > one.temperature());
    }

    #[test]
    fn efficiency_is_the_inverse_of_the_fuel_it_takes(
        output in 100.0..40_000.0_f64, share in 0.05..1.0_f64, petrol in any::<bool>(),
    ) {
        let fuel = if petrol { Fuel::Petrol } else { Fuel::Diesel(ClimateClass::B) };
        let power = Power::watts(output);
        let mass = fuel::fuel_flow(fuel, power, share).expect("a share");
        let flow = fuel::volume_flow(mass, fuel::density_at_15_celsius(fuel)).expect("a density");
        let back = fuel::efficiency(fuel, power, flow).expect("a flow");
        prop_assert!((back - share).abs() < 1e-9);
    }

    #[test]
    fn a_longer_line_never_fills_in_fewer_runs(
        held in 0.0..5e-4_f64, more in 0.0..5e-4_f64, flow in 1e-9..1e-6_f64, time in 1.0..300.0_f64,
    ) {
        let runs = |volume: f64| {
            fuel::runs_to_fill(Volume::cubic_metres(volume), VolumeFlow::cubic_metres_per_second(flow), Time::seconds(time))
                .expect("a flow")
        };
        prop_assert!(runs(held + more) >= runs(held));
        prop_assert!(runs(held) * flow * time >= held * (1.0 - 1e-6));
    }
}

/// What a supply of the bench job leaves and draws: figures by name, the worst over stages and cases.
fn figures(
    size: &str,
    length: &str,
    cold: &str,
    charge: &str,
    behaviour: &str,
) -> impl Fn(&str) -> Option<f64> + use<> {
    let example = format!(
        "job \"law\"\n  design-cold   {cold}\n\nbattery house\n  made-of       12 V 95 Ah\n  type          AGM\n  charge        {charge}\n\n\
         datasheet heater held-2\n  warms         air\n  supply        12 V\n  voltage       8 V .. 15.5 V\n  stage         pre-heat, 9.5 A{behaviour}\n  \
         fuse          20 A\n\nheater reader\n  datasheet     held-2\n  in            cabin\n  heats         cabin\n  \
         at            back 1900 mm, right 310 mm, up 670 mm\n  warm-end      forward\n\ncable supply of reader\n  from          house\n  \
         size          {size}\n  run           150 mm\n  fuse          20 A\n  run           {length}\n  ends          at reader"
    );
    let analysis = judge_example(&example);
    move |name: &str| {
        let values = analysis.shown().list.iter().filter(|figure| figure.name == name).map(|figure| figure.value);
        values.fold(None, |least: Option<f64>, value| Some(least.map_or(value, |least| least.min(value))))
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn a_longer_thinner_or_colder_supply_never_leaves_more(
        metres in 2.0..14.0_f64, longer in 0.1..4.0_f64, step in 0..5_usize, cold in -35..0_i32, colder in 1..15_i32,
        charge in 55..100_i32, regulated in any::<bool>(),
    ) {
        let sizes = ["1.5 mm²", "2.5 mm²", "4 mm²", "6 mm²", "10 mm²", "16 mm²"];
        let behaviour = if regulated { ", 90 s, regulated" } else { " peak, 90 s" };
        let of = |size: usize, metres: f64, cold: i32, charge: i32| {
            figures(sizes[size], &format!("{metres:.3} m"), &format!("{cold} °C"), &format!("{charge} %"), behaviour)
        };
        let meant = of(step, metres, cold, charge);
        let left = meant("voltage_left").expect("a voltage");
        let drawn = meant("short_circuit_current").expect("a current");
        let longer = of(step, metres + longer, cold, charge);
        prop_assert!(longer("voltage_left").expect("a voltage") <= left);
        prop_assert!(longer("short_circuit_current").expect("a current") <= drawn);
        let thicker = of(step + 1, metres, cold, charge);
        prop_assert!(thicker("voltage_left").expect("a voltage") >= left);
        prop_assert!(thicker("short_circuit_current").expect("a current") >= drawn);
        let emptier = of(step, metres, cold, charge - 5);
        prop_assert!(emptier("voltage_left").expect("a voltage") <= left);
        // A shorter way behind a colder battery: cold copper helps, so only the battery is made to speak.
        let short = |cold: i32| of(5, 1.0, cold, charge)("voltage_left").expect("a voltage");
        prop_assert!(short(cold - colder) <= short(cold));
    }

    #[test]
    fn a_supply_in_feet_and_fahrenheit_is_the_same_supply(metres in 2.0..14.0_f64, cold in -35..10_i32) {
        let metric = figures("4 mm²", &format!("{metres:.4} m"), &format!("{cold} °C"), "80 %", " peak, 90 s");
        let feet = format!("{:.9} ft", (metres * 1e4).round() / 1e4 / 0.3048);
        let fahrenheit = format!("{:.9} °F", f64::from(cold) * 1.8 + 32.0);
        let customary = figures("4 mm²", &feet, &fahrenheit, "80 %", " peak, 90 s");
        for name in ["voltage_left", "short_circuit_current", "fuse_opening_time"] {
            let (one, other) = (metric(name), customary(name));
            prop_assert_eq!(one.is_some(), other.is_some(), "{}", name);
            if let (Some(one), Some(other)) = (one, other) {
                prop_assert!((one - other).abs() <= 1e-6 * one.abs(), "{}: {} {}", name, one, other);
            }
        }
    }
}
