//! Laws of warm-air networks that hold for all of them: order, continuity, and an answer or a plain none for every input.
//! Values from outside are in `reference_network.rs`.

use proptest::prelude::*;
use spec_lang::physics::duct_flow::Duct;
use spec_lang::physics::network::{Fan, Leaves, Operation, Section, SectionEnd, Supply, Wall, operate};
use spec_lang::units::*;

const FAN: Fan = Fan {
    free_flow: VolumeFlow::cubic_metres_per_second(185.0 / 3600.0),
    blocked_pressure: Pressure::pascals(260.0),
    outlet_bore: Some(Length::millimetres(90.0)),
};

const AIR: Supply =
    Supply { drawn: Temperature::celsius(18.0), pressure: Pressure::pascals(101_325.0), heat: Power::watts(3000.0) };

fn duct(bore: f64, length: f64) -> Duct {
    Duct {
        bore: Length::millimetres(bore),
        length: Length::metres(length),
        roughness: Length::millimetres(0.9),
        fittings: 0.2,
    }
}

fn section(fed_by: Option<usize>, angle: Option<f64>, bore: f64, length: f64, end: SectionEnd) -> Section {
    let leaves = angle.map_or(Leaves::Straight, |angle| Leaves::Branch(Angle::degrees(angle)));
    Section { fed_by, leaves, duct: duct(bore, length), bends: 4.0, end, wall: None }
}

const OPEN: SectionEnd = SectionEnd::Outlet(1.0);

/// A trunk with two tees in a row: outlets 2, 3 and 4.
#[derive(Clone, Debug)]
struct Tree {
    lengths: [f64; 5],
    bores: [f64; 2],
    angle: f64,
}

impl Tree {
    fn sections(&self, ends: [SectionEnd; 3]) -> Vec<Section> {
        let [trunk, next, first, last, second] = self.lengths;
        let [one, other] = self.bores;
        vec![
            section(None, None, 90.0, trunk, SectionEnd::Feeds),
            section(Some(0), None, 90.0, next, SectionEnd::Feeds),
            section(Some(0), Some(self.angle), one, first, ends[0]),
            section(Some(1), None, 90.0, last, ends[1]),
            section(Some(1), Some(self.angle), other, second, ends[2]),
        ]
    }

    fn run(&self, ends: [SectionEnd; 3]) -> Operation {
        operate(FAN, &[(duct(90.0, 1.0), 3.0)], &self.sections(ends), AIR).expect("an operating point")
    }
}

fn tree() -> impl Strategy<Value = Tree> {
    let bore = prop_oneof![Just(60.0), Just(75.0), Just(90.0)];
    (
        [0.2..3.0_f64, 0.2..3.0_f64, 0.3..6.0_f64, 0.3..6.0_f64, 0.3..6.0_f64],
        [bore.clone(), bore],
        prop_oneof![Just(45.0), Just(90.0)],
    )
        .prop_map(|(lengths, bores, angle)| Tree { lengths, bores, angle })
}

fn flows(state: &Operation) -> Vec<f64> {
    state.sections.iter().map(|section| section.flow.in_kilograms_per_second()).collect()
}

/// Half a percent: the straight-on loss of a tee may fall below zero, so that air taken off helps what goes on by a hair.
const HAIR: f64 = 5e-3;

proptest! {
    #[test]
    fn no_air_is_lost_on_the_way_and_losses_add_up_to_what_the_fan_gives(tree in tree()) {
        let state = tree.run([OPEN; 3]);
        let flow = flows(&state);
        prop_assert!((flow[0] / state.flow.in_kilograms_per_second() - 1.0).abs() < 1e-9);
        prop_assert!((flow[1] + flow[2] - flow[0]).abs() < 1e-8 * flow[0]);
        prop_assert!((flow[3] + flow[4] - flow[1]).abs() < 1e-8 * flow[0]);
        let given = state.fan_pressure.in_pascals();
        let lost = (state.return_loss + state.warm_loss).in_pascals();
        prop_assert!((given - lost).abs() < 1e-5 * given, "{given} Pa given, {lost} Pa lost");
        // Every way from the heater to an open outlet loses the same.
        let loss = |path: [usize; 3]| path.iter().map(|number| state.sections[*number].loss.in_pascals()).sum::<f64>();
        let long = loss([0, 1, 3]);
        prop_assert!((loss([0, 1, 4]) - long).abs() < 1e-5 * given);
        let short = (state.sections[0].loss + state.sections[2].loss).in_pascals();
        prop_assert!(flow[2] == 0.0 || (short - long).abs() < 1e-5 * given, "{short} Pa beside {long} Pa");
    }

    #[test]
    fn a_longer_branch_gets_less_and_takes_nothing_from_the_others(tree in tree(), which in 2..5_usize, more in 0.5..4.0_f64) {
        let longer = { let mut longer = tree.clone(); longer.lengths[which] += more; longer };
        let (before, after) = (flows(&tree.run([OPEN; 3])), flows(&longer.run([OPEN; 3])));
        prop_assume!(before[which] > 1e-3);
        prop_assert!(after[which] < before[which]);
        prop_assert!(after[0] < before[0] * (1.0 + HAIR));
        for other in (2..5).filter(|other| *other != which) {
            prop_assert!(after[other] > before[other] * (1.0 - HAIR), "{other}: {before:?} {after:?}");
        }
    }

    #[test]
    fn shutting_an_outlet_raises_the_others_and_lowers_the_whole(tree in tree(), which in 0..3_usize) {
        let mut ends = [OPEN; 3];
        ends[which] = SectionEnd::Shut;
        let (before, after) = (flows(&tree.run([OPEN; 3])), flows(&tree.run(ends)));
        prop_assert_eq!(after[which + 2], 0.0);
        prop_assert!(after[0] < before[0] * (1.0 + HAIR));
        for other in (2..5).filter(|other| *other != which + 2) {
            prop_assert!(after[other] > before[other] * (1.0 - HAIR), "{other}: {before:?} {after:?}");
        }
    }

    #[test]
    fn more_heat_makes_lighter_air_and_less_mass(tree in tree(), more in 100.0..3000.0_f64) {
        let sections = tree.sections([OPEN; 3]);
        let at = |heat: f64| operate(FAN, &[], &sections, Supply { heat: Power::watts(heat), ..AIR }).expect("an answer");
        let (cool, warm) = (at(500.0), at(500.0 + more));
        prop_assert!(warm.flow < cool.flow && warm.leaves_heater > cool.leaves_heater);
        let heat = warm.flow.in_kilograms_per_second() * 1006.0 * warm.leaves_heater.above(AIR.drawn).in_kelvin_difference();
        prop_assert!((heat - 500.0 - more).abs() < 1.0, "{heat} W in the air");
    }

    #[test]
    fn walls_only_ever_bring_air_nearer_to_what_is_around(tree in tree(), around in -40.0..60.0_f64, lagging in 0.0..40.0_f64) {
        let mut sections = tree.sections([OPEN; 3]);
        for section in &mut sections {
            section.wall = Some(Wall {
                outside: section.duct.bore + Length::millimetres(3.0),
                lagging: Length::millimetres(lagging),
                conductivity: ThermalConductivity::watts_per_metre_kelvin(0.04),
                outer_film: ThermalTransmittance::watts_per_square_metre_kelvin(25.0),
                around: Temperature::celsius(around),
            });
        }
        let state = operate(FAN, &[], &sections, AIR).expect("an answer");
        for section in &state.sections {
            let (enters, leaves) = (section.enters.in_celsius() - around, section.leaves.in_celsius() - around);
            prop_assert!(leaves.abs() <= enters.abs() + 1e-9 && leaves * enters >= 0.0);
            let surface = section.surface.expect("a wall").in_celsius() - around;
            prop_assert!(surface.abs() <= enters.abs() + 1e-9);
        }
    }

    #[test]
    fn every_input_has_an_answer_or_none(
        numbers in proptest::collection::vec(prop_oneof![
            Just(0.0), Just(-1.0), Just(f64::NAN), Just(f64::INFINITY), Just(1e300), Just(1e-300), 0.0..1000.0_f64,
        ], 16),
        fed_by in proptest::collection::vec(proptest::option::of(0..4_usize), 4), ends in proptest::collection::vec(0..3_u8, 4),
    ) {
        let number = |index: usize| numbers[index % numbers.len()];
        let sections: Vec<Section> = (0..4)
            .map(|index| Section {
                fed_by: fed_by[index],
                leaves: if ends[index] == 1 { Leaves::Branch(Angle::degrees(number(index))) } else { Leaves::Straight },
                duct: Duct {
                    bore: Length::millimetres(number(index + 3)),
                    length: Length::metres(number(index + 1)),
                    roughness: Length::millimetres(number(index + 9)),
                    fittings: number(index + 5),
                },
                bends: number(index + 7),
                end: [SectionEnd::Feeds, SectionEnd::Outlet(number(index)), SectionEnd::Shut][usize::from(ends[index])],
                wall: None,
            })
            .collect();
        let fan = Fan {
            free_flow: VolumeFlow::cubic_metres_per_second(number(11)),
            blocked_pressure: Pressure::pascals(number(12)),
            outlet_bore: (number(13) > 0.5).then(|| Length::millimetres(number(13))),
        };
        let air = Supply { drawn: Temperature::kelvin(number(14)), pressure: Pressure::pascals(number(15)), heat: Power::watts(number(2)) };
        if let Some(state) = operate(fan, &[], &sections, air) {
            prop_assert!(flows(&state).iter().all(|flow| flow.is_finite() && *flow >= 0.0));
        }
    }
}

#[test]
fn with_every_outlet_shut_nothing_flows_at_the_blocked_pressure() {
    let tree = Tree { lengths: [1.0; 5], bores: [60.0; 2], angle: 90.0 };
    let state = tree.run([SectionEnd::Shut; 3]);
    assert_eq!(state.flow, MassFlow::ZERO);
    let rated = state.fan_pressure.in_pascals() * 1.2 / (101_325.0 / (287.053 * 291.15));
    assert!((rated - 260.0).abs() < 0.1, "{rated} Pa");
    assert!(state.sections.iter().all(|section| section.flow == MassFlow::ZERO));
}
