//! Laws of heat demand and of the night that hold for all inputs: order, continuity, unit-freedom, energy kept, and an
//! answer or none for every finite number. Values from outside are in `reference_heat.rs`.

use proptest::prelude::*;
use spec_lang::physics::heat;
use spec_lang::physics::materials;
use spec_lang::physics::night::{Battery, BelowLowest, Burner, Inputs, Night, Room, Stage, night, warm_up};
use spec_lang::units::*;

/// A night in plain numbers, so that a law can change one of them.
#[derive(Clone, Copy, Debug)]
struct Plain {
    loss: f64,
    /// Share of the loss that leaves the air directly.
    light: f64,
    /// The film, as what crosses the mass times this.
    film: f64,
    store: f64,
    mass: f64,
    people: f64,
    outside: f64,
    start: f64,
    set: f64,
    output: [f64; 2],
    runs_on: bool,
    band: [f64; 2],
    start_lasts: f64,
    stop_lasts: f64,
    /// Full, charge, other load, loop resistance and lowest voltage.
    battery: Option<[f64; 5]>,
    tank: Option<f64>,
    lasts: f64,
    /// What a second, a watt and a coulomb are counted as: a night must not depend on it.
    scale: f64,
}

impl Plain {
    fn solve(&self) -> Option<Night> {
        let scale = self.scale;
        let stage = |current: f64, lasts: f64| Stage {
            current: Current::amperes(current),
            lasts: Time::seconds(lasts * scale),
            waited_out: false,
        };
        let starting = [stage(9.5, 0.7 * self.start_lasts), stage(8.0, 0.3 * self.start_lasts)];
        let stopping = [stage(8.4, 0.1 * self.stop_lasts), stage(2.2, 0.9 * self.stop_lasts)];
        let [full, charge, other, resistance, lowest] = self.battery.unwrap_or([1.0; 5]);
        let voltage =
            |share: f64, current: Current| Voltage::volts(11.8 + 0.9 * share - current.in_amperes() * resistance);
        let kelvin = TemperatureDifference::kelvin_difference;
        night(&Inputs {
            room: Room {
                loss: HeatLossCoefficient::watts_per_kelvin(self.loss),
                light_loss: HeatLossCoefficient::watts_per_kelvin(self.loss * self.light),
                film: HeatLossCoefficient::watts_per_kelvin(self.loss * (1.0 - self.light) * self.film),
                air_store: HeatCapacity::joules_per_kelvin(self.store * scale),
                mass_store: HeatCapacity::joules_per_kelvin(self.mass * scale),
                people: Power::watts(self.people),
                outside: Temperature::celsius(self.outside),
                start: Temperature::celsius(self.start),
                set: Temperature::celsius(self.set),
            },
            burner: Burner {
                output: self.output.map(Power::watts),
                fuel: self.output.map(|watts| VolumeFlow::litres_per_hour(1.2e-4 * watts / scale)),
                current: [Current::amperes(0.8), Current::amperes(2.8)],
                standby: Current::amperes(0.02),
                starting: &starting,
                stopping: &stopping,
                below_lowest: if self.runs_on { BelowLowest::RunsOn } else { BelowLowest::Stops },
                stops_above: kelvin(self.band[0]),
                restarts_below: kelvin(self.band[1]),
            },
            battery: self.battery.map(|_| Battery {
                full: Charge::ampere_hours(full * scale),
                charge: Charge::ampere_hours(charge * scale),
                rated: Current::amperes(full / 20.0),
                exponent: 1.15,
                other: Current::amperes(other),
                voltage: &voltage,
                lowest: Some(Voltage::volts(lowest)),
            }),
            fuel: self.tank.map(|litres| Volume::cubic_metres(litres / 1e3)),
            lasts: Time::seconds(self.lasts * scale),
        })
    }
}

fn plain() -> impl Strategy<Value = Plain> {
    let room = (8.0..120.0_f64, 0.0..300.0_f64, -35.0..16.0_f64, -35.0..30.0_f64, 12.0..24.0_f64);
    let nodes = (0.0..0.95_f64, 1.05..30.0_f64, 8e3..200e3_f64, prop_oneof![4 => 10e3..800e3_f64, 1 => Just(0.0)]);
    let heater = (300.0..2500.0_f64, 0.0..4000.0_f64, any::<bool>(), 0.3..3.0_f64, 0.3..4.0_f64, 30.0..300.0_f64);
    let rest = (20.0..400.0_f64, 2.0..14.0_f64);
    (room, nodes, heater, rest).prop_map(|((loss, people, outside, start, set), nodes, heater, (stop_lasts, hours))| {
        let (low, more, runs_on, above, below, start_lasts) = heater;
        let (light, film, store, mass) = nodes;
        Plain {
            loss,
            light,
            film,
            store,
            mass,
            people,
            outside,
            start,
            set,
            output: [low, low + more],
            runs_on,
            band: [above, below],
            start_lasts,
            stop_lasts,
            battery: None,
            tank: None,
            lasts: hours * 3600.0,
            scale: 1.0,
        }
    })
}

fn battery() -> impl Strategy<Value = [f64; 5]> {
    (20.0..200.0_f64, 0.2..1.0_f64, 0.0..2.0_f64, 0.01..0.2_f64, 9.5..11.5_f64)
        .prop_map(|(full, share, other, resistance, lowest)| [full, full * share, other, resistance, lowest])
}

fn solved(night: Plain) -> Night {
    night.solve().expect("a night")
}

proptest! {
    #[test]
    fn heat_in_is_heat_lost_and_heat_stored(night in plain(), battery in proptest::option::of(battery()), tank in proptest::option::of(0.0..5.0_f64)) {
        let night = Plain { battery, tank, ..night };
        let found = solved(night);
        let given = found.heat.in_joules() + night.people * night.lasts;
        let kept = night.store * (found.at_end.in_celsius() - night.start)
            + night.mass * (found.mass_at_end.in_celsius() - night.start);
        let size = given.abs() + found.lost.in_joules().abs() + kept.abs();
        prop_assert!((given - found.lost.in_joules() - kept).abs() <= 1e-8 * size + 1e-3);
    }

    #[test]
    fn times_and_temperatures_stay_in_their_bounds(night in plain(), battery in proptest::option::of(battery()), tank in proptest::option::of(0.0..5.0_f64)) {
        let night = Plain { battery, tank, ..night };
        let found = solved(night);
        let room = 1e-6 * night.lasts;
        prop_assert!(found.burning.in_seconds() <= night.lasts + room && found.at_lowest.in_seconds() <= found.burning.in_seconds() + room);
        prop_assert!(found.below_set.in_seconds() <= night.lasts + room && found.below_set.in_seconds() >= -room);
        prop_assert!(found.warmest >= found.at_end);
        if let Some(litres) = tank {
            prop_assert!(found.fuel.in_cubic_metres() * 1e3 <= litres + 1e-9);
        }
        if let (Some(coldest), Some(warm_up)) = (found.coldest, found.warm_up) {
            prop_assert!(coldest <= found.at_end && warm_up.in_seconds() <= night.lasts + room);
        }
        if let Some([full, ..]) = battery {
            let left = found.charge.expect("a battery").in_ampere_hours();
            prop_assert!((0.0..=full).contains(&left));
        }
    }

    #[test]
    fn a_colder_night_burns_no_less(night in plain(), colder in 0.1..20.0_f64) {
        // From the outside's own temperature on, so that colder outside means a colder start too.
        let mild = solved(Plain { start: night.outside, ..night });
        let cold = solved(Plain { outside: night.outside - colder, start: night.outside - colder, ..night });
        // A night over in its first cycle does not tell how long one is.
        prop_assume!(mild.starts < 2 || mild.cycle.is_some());
        // A night may end just before or just after a start: one cycle of the milder night is the room for that.
        let cycle = mild.cycle.map_or(0.0, |cycle| cycle.in_seconds()) + night.start_lasts;
        let rate = 1.2e-7 * night.output[1] / 3600.0;
        prop_assert!(cold.fuel.in_cubic_metres() >= mild.fuel.in_cubic_metres() - rate * cycle - 1e-12);
        prop_assert!(cold.burning.in_seconds() >= mild.burning.in_seconds() - cycle - 1e-6);
        prop_assert!(cold.warm_up.is_none_or(|time| mild.warm_up.is_some_and(|mild| mild <= time)) || cold.warm_up.is_none());
    }

    #[test]
    fn a_larger_battery_keeps_more_voltage(night in plain(), battery in battery(), more in 1.0..3.0_f64) {
        let [full, charge, other, resistance, _] = battery;
        // No limit that stops the night: what a failed start does not draw is no merit of the smaller battery.
        let small = solved(Plain { battery: Some([full, charge, other, resistance, 0.0]), ..night });
        let large = solved(Plain { battery: Some([full * more, charge * more, other, resistance, 0.0]), ..night });
        prop_assume!(small.failed.is_none());
        let (one, other) = (small.lowest_voltage, large.lowest_voltage);
        prop_assert!(one.zip(other).is_none_or(|(small, large)| large.0.in_volts() >= small.0.in_volts() - 1e-9));
        prop_assert!(large.charge >= small.charge);
        prop_assert!(large.failed.is_none());
    }

    #[test]
    fn a_better_lined_room_asks_for_no_more(night in plain(), less in 0.3..1.0_f64) {
        // From the outside's own temperature on: a room colder than outside would be warmed by its leaks.
        let night = Plain { start: night.outside, set: night.set.max(night.outside + 1.0), runs_on: false, ..night };
        // The film stays: it is the layers behind it that keep more in.
        let (poor, good) = (solved(night), solved(Plain { loss: night.loss * less, film: night.film / less, ..night }));
        // A night over in its first cycle does not tell how long one is.
        prop_assume!([poor, good].iter().all(|night| night.starts < 2 || night.cycle.is_some()));
        let cycle = [poor, good].iter().filter_map(|night| night.cycle).map(Time::in_seconds).fold(0.0, f64::max);
        let one = 1.2e-7 * night.output[1] / 3600.0 * cycle;
        prop_assert!(good.fuel.in_cubic_metres() <= poor.fuel.in_cubic_metres() + one + 1e-9);
    }

    #[test]
    fn a_night_has_no_steps_in_its_averages(night in plain(), hair in 1.0..1.000_000_1_f64) {
        let one = solved(night);
        let other = solved(Plain { loss: night.loss * hair, store: night.store * hair, mass: night.mass * hair, ..night });
        // One cycle more or less at the end of the night is the only step there is.
        let cycle = [one, other].iter().filter_map(|night| night.cycle).map(Time::in_seconds).fold(0.0, f64::max);
        prop_assert!((one.fuel.in_cubic_metres() - other.fuel.in_cubic_metres()).abs() <= 1.2e-7 * night.output[1] / 3600.0 * cycle + 1e-6);
        if let (Some(one), Some(other)) = (one.cycle, other.cycle) {
            // A cycle is long without bound where the lowest output nearly settles inside the band.
            prop_assume!(one.in_seconds() < 7200.0);
            prop_assert!((one.in_seconds() - other.in_seconds()).abs() <= 0.02 * one.in_seconds());
        }
    }

    #[test]
    fn a_night_does_not_depend_on_how_time_is_counted(night in plain(), battery in battery(), scale in 0.2..5.0_f64) {
        let night = Plain { battery: Some(battery), ..night };
        let (one, other) = (solved(night), solved(Plain { scale, ..night }));
        prop_assert!(one.starts.abs_diff(other.starts) <= 1);
        prop_assume!(one.starts == other.starts && one.failed.is_some() == other.failed.is_some());
        prop_assert!((one.at_end.in_kelvin() - other.at_end.in_kelvin()).abs() < 1e-4);
        prop_assert!((one.burning.in_seconds() * scale - other.burning.in_seconds()).abs() < 1e-5 * night.lasts * scale);
        prop_assert!((one.fuel.in_cubic_metres() - other.fuel.in_cubic_metres()).abs() < 1e-8);
    }

    #[test]
    fn a_mass_behind_hardly_a_film_is_part_of_the_air(night in plain(), watts in 500.0..8000.0_f64) {
        let start = night.set.min(night.start) - 5.0;
        let film = (night.mass + night.store) * 1e3;
        let room = |light: f64, air: f64, mass: f64| Room {
            loss: HeatLossCoefficient::watts_per_kelvin(night.loss),
            light_loss: HeatLossCoefficient::watts_per_kelvin(night.loss * light),
            film: HeatLossCoefficient::watts_per_kelvin(film),
            air_store: HeatCapacity::joules_per_kelvin(air),
            mass_store: HeatCapacity::joules_per_kelvin(mass),
            people: Power::ZERO,
            outside: Temperature::celsius(night.outside),
            start: Temperature::celsius(start),
            set: Temperature::celsius(night.set),
        };
        let two = warm_up(&room(night.light, night.store, night.mass), Power::watts(watts));
        let one = room(1.0, night.store + night.mass, 0.0);
        let law = heat::warm_up_time(one.start, one.outside, one.set, Power::watts(watts), one.loss, one.air_store);
        // Where it hardly gets there, a hair decides.
        prop_assume!(law.is_none_or(|time| time.in_seconds() < 1e6));
        prop_assert_eq!(two.is_some(), law.is_some());
        if let Some((two, law)) = two.zip(law) {
            prop_assert!((two.in_seconds() - law.in_seconds()).abs() <= 1e-2 * law.in_seconds() + 1e-2);
        }
    }

    #[test]
    fn any_finite_night_has_an_answer_or_none(
        numbers in proptest::collection::vec(prop_oneof![any::<f64>(), -1e3..1e3_f64, Just(0.0), Just(1e-300), Just(1e300)], 17),
        runs_on in any::<bool>(),
    ) {
        prop_assume!(numbers.iter().all(|number| number.is_finite()));
        let at = |number: usize| numbers[number];
        let wild = Plain {
            loss: at(0), light: at(14), film: at(15), store: at(1), mass: at(16), people: at(2), outside: at(3), start: at(4), set: at(5), output: [at(6), at(7)],
            runs_on, band: [at(8), at(9)], start_lasts: at(10), stop_lasts: at(11),
            battery: Some([at(12), at(13), at(0), at(1), at(2)]), tank: Some(at(3)), lasts: at(10), scale: 1.0,
        };
        if let Some(found) = wild.solve() {
            prop_assert!(found.burning.in_seconds().is_finite() && found.fuel.in_cubic_metres().is_finite());
            prop_assert!(found.at_end.in_kelvin().is_finite() && found.lost.in_joules().is_finite());
        }
    }

    #[test]
    fn thicker_insulation_stores_no_more_and_a_rib_never_helps(
        lining in 0.5..30.0_f64, foam in 1.0..100.0_f64, share in 0.0..0.5_f64, more in 0.0..0.4_f64, area in 0.1..40.0_f64,
    ) {
        let [wood, insulation, steel] = ["plywood", "xps", "steel"].map(|word| materials::find(word).expect("a material"));
        let layers = [(Length::millimetres(lining), wood), (Length::millimetres(foam), insulation), (Length::millimetres(1.0), steel)];
        let stored = heat::stored_by_layers(&layers, Area::square_metres(area));
        let all = lining * 1e-3 * 500.0 * 1600.0 * area;
        prop_assert!(stored.in_joules_per_kelvin() <= all + 1e-6 && stored > HeatCapacity::ZERO);
        let plain: Vec<_> = layers.iter().map(|(thickness, material)| (*thickness, material.conductivity)).collect();
        let inner = heat::inner_surface_resistance(heat::HeatDirection::Horizontal);
        let value = |layers: &[(Length, ThermalConductivity)]| heat::transmittance(layers, inner, heat::OUTER_SURFACE_RESISTANCE).expect("a U-value");
        let ribbed = [plain[0], (plain[1].0, steel.conductivity), plain[2]];
        let at = |share: f64| heat::bridged_transmittance(value(&plain), value(&ribbed), share).in_watts_per_square_metre_kelvin();
        prop_assert!(at(share) >= at(0.0) - 1e-12 && at(share + more) >= at(share) - 1e-12);
    }
}
