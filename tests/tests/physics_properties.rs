//! Laws of the physics that hold for all inputs: order, continuity, symmetry, and an answer for every finite number.
//! Values from outside are in `physics_reference.rs`.

use proptest::prelude::*;
use spec_lang::physics::ampacity::{self, InsulationClass};
use spec_lang::physics::battery::{self, Chemistry};
use spec_lang::physics::duct_flow::{self, Duct};
use spec_lang::physics::fuel::{self, ClimateClass, Fuel};
use spec_lang::physics::geometry::{self, AlignedBox, Point, Segment, Vector};
use spec_lang::physics::{air, conductors, fuses, heat};
use spec_lang::units::*;

const METRIC: [f64; 14] = conductors::METRIC_STOCK_SQUARE_MILLIMETRES;

fn square(millimetres: f64) -> Area {
    Area::square_millimetres(millimetres)
}

fn celsius(value: f64) -> Temperature {
    Temperature::celsius(value)
}

fn per_metre(area: Area, temperature: f64) -> f64 {
    let figure = conductors::resistance_per_length(area, celsius(temperature));
    figure.expect("a resistance").in_ohms_per_metre()
}

/// Coordinates on a coarse grid, so that touching, parallel and pointlike things turn up often.
fn point() -> impl Strategy<Value = Point> {
    let coordinate = prop_oneof![(-6_i32..=6).prop_map(|step| f64::from(step) * 0.5), -3.0..3.0_f64];
    [coordinate.clone(), coordinate.clone(), coordinate].prop_map(|[x, y, z]| Point { x, y, z })
}

fn segment() -> impl Strategy<Value = Segment> {
    (point(), point()).prop_map(|(from, to)| Segment { from, to })
}

fn aligned() -> impl Strategy<Value = AlignedBox> {
    (point(), point()).prop_map(|(one, other)| AlignedBox::spanning(one, other))
}

/// A turn about the vertical, then about the transverse axis, then a shift: every rigid motion is such a product.
fn moved(point: Point, [yaw, pitch, shift]: [f64; 3]) -> Point {
    let (x, y) = (point.x * yaw.cos() - point.y * yaw.sin(), point.x * yaw.sin() + point.y * yaw.cos());
    let (x, z) = (x * pitch.cos() + point.z * pitch.sin(), point.z * pitch.cos() - x * pitch.sin());
    Point { x, y, z }.moved(Vector { x: shift, y: -0.5 * shift, z: 2.0 * shift })
}

fn near(one: f64, other: f64) -> bool {
    (one - other).abs() <= 1e-9
}

proptest! {
    // Conductors.

    #[test]
    fn drop_grows_with_length_current_and_warmth(
        size in 0.3..150.0_f64, length in 0.1..40.0_f64, current in 0.1..200.0_f64, temperature in -60.0..150.0_f64,
        more in 1.001..3.0_f64, warmer in 0.1..50.0_f64,
    ) {
        let drop = |length: f64, current: f64, temperature: f64| {
            let way = (square(size), Length::metres(length));
            let resistance = conductors::loop_resistance(way, way, celsius(temperature)).expect("a resistance");
            conductors::voltage_drop(Current::amperes(current), resistance)
        };
        let base = drop(length, current, temperature);
        prop_assert!(drop(length * more, current, temperature) > base);
        prop_assert!(drop(length, current * more, temperature) > base);
        prop_assert!(drop(length, current, temperature + warmer) > base);
    }

    #[test]
    fn thicker_metric_conductors_resist_less_and_without_steps(size in 0.2..200.0_f64, more in 1.001..2.0_f64) {
        let (thin, thick) = (square(size), square(size * more));
        let is_gauge = |area| conductors::gauge_number_of(area).is_some();
        prop_assume!(!is_gauge(thin) && !is_gauge(thick));
        prop_assert!(per_metre(thick, 20.0) < per_metre(thin, 20.0));
        let hair = square(size * (1.0 + 1e-9));
        prop_assume!(!is_gauge(hair));
        prop_assert!((per_metre(hair, 20.0) / per_metre(thin, 20.0) - 1.0).abs() < 1e-8);
        let metal = conductors::copper_resistance_per_length(thin, celsius(20.0)).expect("a resistance");
        prop_assert!(per_metre(thin, 20.0) > metal.in_ohms_per_metre());
    }

    #[test]
    fn a_conductor_of_the_smallest_area_drops_just_the_allowance(
        current in 0.1..100.0_f64, length in 0.1..60.0_f64, allowed in 0.05..2.0_f64, temperature in -50.0..100.0_f64,
    ) {
        let (current, length, temperature) = (Current::amperes(current), Length::metres(length), celsius(temperature));
        let area = conductors::smallest_area_for_drop(current, length, Voltage::volts(allowed), temperature);
        let by_length = conductors::copper_resistance_per_length(area.expect("an area"), temperature);
        let drop = conductors::voltage_drop(current, by_length.expect("a resistance") * length);
        prop_assert!((drop.in_volts() / allowed - 1.0).abs() < 1e-9);
    }

    #[test]
    fn a_conductor_carries_less_when_hotter_thinner_or_more_crowded(
        size in 0.3..120.0_f64, ambient in -40.0..150.0_f64, hotter in 0.0..60.0_f64, crowd in 0_u32..40, thinner in 0.2..1.0_f64,
    ) {
        for class in InsulationClass::ALL {
            let carried = |size: f64, ambient: f64, crowd: u32| {
                let figure = ampacity::allowable_current(square(size), class, celsius(ambient), crowd);
                figure.expect("a current").in_amperes()
            };
            let base = carried(size, ambient, crowd);
            prop_assert!(base >= 0.0);
            prop_assert!(carried(size, ambient + hotter, crowd) <= base);
            prop_assert!(carried(size * thinner, ambient, crowd) <= base);
            prop_assert!(carried(size, ambient, crowd + 1) <= base);
            let own = class.temperature().in_celsius() + hotter;
            prop_assert_eq!(carried(size, own, crowd), 0.0);
        }
    }

    // Fuses and batteries.

    #[test]
    fn fuses_open_sooner_at_more_current(ratio in 1.36..20.0_f64, more in 1.0..2.0_f64) {
        let shortest = |ratio| fuses::shortest_opening_time(ratio).expect("a time");
        let longest = |ratio| fuses::longest_opening_time(ratio).expect("a time");
        prop_assert!(shortest(ratio * more) <= shortest(ratio));
        prop_assert!(longest(ratio * more) <= longest(ratio));
        prop_assert!(shortest(ratio) < longest(ratio));
        let hair = shortest(ratio * (1.0 + 1e-9)) / shortest(ratio);
        prop_assert!((hair - 1.0).abs() < 1e-6);
    }

    #[test]
    fn larger_fuses_resist_less(rating in 1.0..39.0_f64, more in 1.001..2.0_f64) {
        let cold = |rating| fuses::cold_resistance(Current::amperes(rating)).expect("a resistance");
        prop_assert!(cold(rating * more) < cold(rating));
    }

    #[test]
    fn the_chosen_fuse_is_the_smallest_that_holds(current in 0.0..31.0_f64) {
        let chosen = fuses::smallest_rating_for(Current::amperes(current));
        let holds = |rating: &&f64| **rating * fuses::CONTINUOUS_LOAD_SHARE >= current;
        let expected = fuses::BLADE_RATINGS.iter().find(holds).map(|&rating| Current::amperes(rating));
        prop_assert_eq!(chosen, expected);
    }

    #[test]
    fn a_colder_smaller_emptier_battery_is_weaker(
        charge in 0.0..1.0_f64, more in 0.0..0.5_f64, capacity in 20.0..300.0_f64, temperature in -40.0..40.0_f64,
        colder in 0.0..30.0_f64,
    ) {
        for chemistry in [Chemistry::LeadAcid, Chemistry::LithiumIronPhosphate] {
            let rest = |charge| battery::open_circuit_voltage(chemistry, charge);
            prop_assert!(rest(charge + more) >= rest(charge));
            let inner = |capacity: f64, temperature: f64| {
                let capacity = Charge::ampere_hours(capacity);
                battery::internal_resistance(chemistry, capacity, celsius(temperature)).expect("a resistance")
            };
            prop_assert!(inner(capacity, temperature - colder) >= inner(capacity, temperature));
            prop_assert!(inner(capacity * 1.1, temperature) < inner(capacity, temperature));
            let share = |temperature: f64| battery::capacity_share(chemistry, celsius(temperature));
            prop_assert!(share(temperature - colder) <= share(temperature));
        }
        let freezes = |charge| battery::freezing_temperature(Chemistry::LeadAcid, charge).expect("a temperature");
        prop_assert!(freezes(charge + more) <= freezes(charge));
    }

    // Fuel, air, ducts, heat.

    #[test]
    fn cold_fuel_is_thicker_and_denser(temperature in -50.0..79.0_f64, warmer in 0.01..30.0_f64) {
        let grades = ClimateClass::ALL.into_iter().map(Fuel::Diesel).chain([Fuel::Petrol]);
        for grade in grades {
            let (cold, warm) = (celsius(temperature), celsius((temperature + warmer).min(80.0)));
            prop_assert!(fuel::kinematic_viscosity(grade, cold) > fuel::kinematic_viscosity(grade, warm));
            prop_assert!(fuel::density(grade, cold) > fuel::density(grade, warm));
        }
    }

    #[test]
    fn ducts_lose_more_when_longer_rougher_narrower_or_faster(
        bore in 20.0..150.0_f64, length in 0.1..10.0_f64, roughness in 0.0..1.0_f64, flow in 20.0..400.0_f64, more in 1.01..2.0_f64,
    ) {
        let loss = |bore: f64, length: f64, roughness: f64, flow: f64| {
            let duct = Duct {
                bore: Length::millimetres(bore),
                length: Length::metres(length),
                roughness: Length::millimetres(roughness),
                fittings: 1.0,
            };
            let flow = VolumeFlow::cubic_metres_per_second(flow / 3600.0);
            let warm = celsius(60.0);
            let density = air::density_at(Length::ZERO, warm);
            let loss = duct_flow::pressure_loss(duct, flow, density, air::dynamic_viscosity(warm));
            loss.expect("a loss").in_pascals()
        };
        let base = loss(bore, length, roughness, flow);
        prop_assert!(loss(bore, length * more, roughness, flow) > base);
        prop_assert!(loss(bore, length, roughness, flow * more) > base);
        prop_assert!(loss(bore, length, roughness * more + 0.01, flow) >= base);
        prop_assert!(loss(bore / more, length, roughness, flow) > base);
    }

    #[test]
    fn bends_that_turn_further_lose_more(angle in 0.1..700.0_f64, ratio in 0.5..6.0_f64, factor in 0.01..0.08_f64) {
        let loss = |angle: f64| {
            duct_flow::bend_loss_coefficient(Angle::degrees(angle), ratio, factor).expect("a coefficient")
        };
        prop_assert!(loss(angle + 360.0) > loss(angle));
        prop_assert!((loss(angle) - loss(-angle)).abs() < 1e-12);
        prop_assert_eq!(loss(0.0), 0.0);
    }

    #[test]
    fn a_cold_place_makes_the_room_hot_and_an_outlet_makes_it_cold(
        set in 10.0..25.0_f64, other in -40.0..90.0_f64, share in 0.01..0.95_f64,
    ) {
        let bias = heat::sensor_bias(celsius(set), celsius(other), share).expect("a bias");
        let bias = bias.in_kelvin_difference();
        prop_assert!(bias * (set - other) >= 0.0);
        let room = celsius(set + bias);
        let sensed = heat::mixed_temperature(room, celsius(other), share);
        prop_assert!((sensed.in_celsius() - set).abs() < 1e-7);
    }

    // Geometry.

    #[test]
    fn distances_are_symmetric_and_no_sample_is_nearer(
        first in segment(), second in segment(), aligned in aligned(), other_box in aligned(), share in 0.0..=1.0_f64,
        other_share in 0.0..=1.0_f64,
    ) {
        let gap = geometry::segment_to_segment(first, second);
        let back = geometry::segment_to_segment(second, first);
        prop_assert!(near(gap.distance.in_metres(), back.distance.in_metres()));
        let sample = first.at(share).distance_to(second.at(other_share));
        prop_assert!(sample.in_metres() >= gap.distance.in_metres() - 1e-12);

        let to_box = geometry::segment_to_box(first, aligned);
        let sample = geometry::point_to_box(first.at(share), aligned).distance;
        prop_assert!(sample.in_metres() >= to_box.distance.in_metres() - 1e-12);

        let boxes = geometry::box_to_box(aligned, other_box).distance;
        prop_assert_eq!(boxes, geometry::box_to_box(other_box, aligned).distance);
        let diagonal = Segment { from: aligned.low(), to: aligned.high() };
        prop_assert!(geometry::segment_to_box(diagonal, other_box).distance.in_metres() >= boxes.in_metres() - 1e-12);
        // The box's own size bounds how much nearer the whole box can be than one of its corners.
        let corner = geometry::point_to_box(aligned.low(), other_box).distance.in_metres();
        prop_assert!(corner <= boxes.in_metres() + diagonal.way().length().in_metres() + 1e-12);
    }

    #[test]
    fn distances_bends_and_lengths_do_not_care_where_the_vehicle_stands(
        first in segment(), second in segment(), corner in point(), motion in [-3.0..3.0_f64, -3.0..3.0_f64, -5.0..5.0_f64],
    ) {
        let turn = |leg: Segment| Segment { from: moved(leg.from, motion), to: moved(leg.to, motion) };
        let before = geometry::segment_to_segment(first, second).distance.in_metres();
        let after = geometry::segment_to_segment(turn(first), turn(second)).distance.in_metres();
        prop_assert!((before - after).abs() < 1e-7, "{} {}", before, after);

        let route = [first.from, first.to, corner, second.to];
        let turned = route.map(|point| moved(point, motion));
        let (length, turned_length) = (geometry::route_length(&route), geometry::route_length(&turned));
        prop_assert!(near(length.in_metres(), turned_length.in_metres()));
        let short = geometry::legs(&route).any(|leg| leg.way().length().in_metres() < 1e-3);
        prop_assume!(!short);
        let bend = geometry::total_bend(&route).in_radians();
        prop_assert!((bend - geometry::total_bend(&turned).in_radians()).abs() < 1e-6);
    }

    #[test]
    fn a_route_backwards_swaps_rise_and_fall_and_keeps_its_hollows(route in prop::collection::vec(point(), 2..9)) {
        let mut back = route.clone();
        back.reverse();
        prop_assert!(near(geometry::rise(&route).in_metres(), geometry::fall(&back).in_metres()));
        let net = route.last().expect("an end").z - route.first().expect("a start").z;
        let climbed = geometry::rise(&route).in_metres() - geometry::fall(&route).in_metres();
        prop_assert!(near(net, climbed));
        let (low, low_back) = (geometry::low_points(&route), geometry::low_points(&back));
        prop_assert_eq!(low.len(), low_back.len());
        for (one, other) in low.iter().zip(low_back.iter().rev()) {
            prop_assert!(one.depth > Length::ZERO);
            prop_assert!(near(one.depth.in_metres(), other.depth.in_metres()));
        }
    }

    #[test]
    fn rounding_the_corners_shortens_a_route(route in prop::collection::vec(point(), 2..7), radius in 0.0..0.5_f64) {
        if let Some(rounded) = geometry::developed_length(&route, Length::millimetres(radius * 1000.0)) {
            prop_assert!(rounded.in_metres() <= geometry::route_length(&route).in_metres() + 1e-9);
        }
        let sharp = geometry::developed_length(&route, Length::ZERO).expect("a length");
        prop_assert!(near(sharp.in_metres(), geometry::route_length(&route).in_metres()));
    }

    /// Every function answers a finite number, or nothing, for any finite input at all.
    #[test]
    fn nothing_ends_in_not_a_number(a in prop::num::f64::NORMAL | prop::num::f64::ZERO, b in -1e6..1e6_f64, c in -1e6..1e6_f64) {
        let held = a.clamp(-1e9, 1e9);
        let answers = [
            conductors::resistance_per_length(square(a), celsius(b)).map(|it| it.in_ohms_per_metre()),
            ampacity::tabled_current(square(a), InsulationClass::Celsius90).map(|it| it.in_amperes()),
            ampacity::adiabatic_factor(celsius(b), celsius(c)),
            fuses::cold_resistance(Current::amperes(a)).map(|it| it.in_ohms()),
            fuses::shortest_opening_time(a).map(|it| it.in_seconds()),
            fuses::longest_opening_time(a).map(|it| it.in_seconds()),
            Some(battery::open_circuit_voltage(Chemistry::LeadAcid, a).in_volts()),
            battery::current_at_power(Voltage::volts(b), Resistance::ohms(held), Power::watts(c)).map(|it| it.in_amperes()),
            Some(fuel::kinematic_viscosity(Fuel::Diesel(ClimateClass::D), celsius(a)).in_square_metres_per_second()),
            Some(fuel::density(Fuel::Petrol, celsius(a)).in_kilograms_per_cubic_metre()),
            Some(air::standard_density(Length::metres(a)).in_kilograms_per_cubic_metre()),
            Some(air::dynamic_viscosity(Temperature::kelvin(b)).in_pascal_seconds()),
            duct_flow::friction_factor(a, c),
            duct_flow::bend_loss_coefficient(Angle::radians(b), c, held),
            heat::sensor_bias(celsius(b), celsius(c), a).map(|it| it.in_kelvin_difference()),
        ];
        for (index, answer) in answers.into_iter().enumerate() {
            prop_assert!(!answer.is_some_and(f64::is_nan), "answer {}", index);
        }
    }
}

/// An area so small that its resistance is past all numbers, at a cold that takes all resistance away: once found at
/// random, nought times the infinite.
#[test]
fn a_conductor_too_thin_for_numbers_has_no_resistance_to_tell() {
    assert!(conductors::resistance_per_length(square(9.132494727100978e-308), celsius(-900_797.0)).is_none());
}

#[test]
fn the_stock_lists_run_from_thin_to_thick() {
    assert!(METRIC.is_sorted_by(|one, other| one < other));
    assert!(conductors::STOCK_GAUGES.is_sorted_by(|one, other| one.area() < other.area()));
}

#[test]
fn water_stands_in_hollows_up_to_the_lower_rim() {
    let route: Vec<Point> = [1.0, 0.2, 0.2, 0.5, 0.1, 0.9, 0.0]
        .into_iter()
        .enumerate()
        .map(|(index, z)| Point { x: index as f64, y: 0.0, z })
        .collect();
    let found: Vec<(usize, f64)> =
        geometry::low_points(&route).iter().map(|low| (low.index, low.depth.in_millimetres().round())).collect();
    // The level stretch at 0.2 counts once; its rims are 1.0 before and 0.9 after. The end at 0.0 drains.
    assert_eq!(found, [(1, 700.0), (4, 800.0)]);
}

#[test]
fn a_quarter_turn_of_radius_r_saves_its_tangents() {
    let corner = |x, y| Point { x, y, z: 0.0 };
    let route = [corner(0.0, 0.0), corner(1.0, 0.0), corner(1.0, 1.0)];
    let rounded = geometry::developed_length(&route, Length::metres(0.3)).expect("it fits").in_metres();
    let expected = 2.0 - 2.0 * 0.3 + 0.3 * std::f64::consts::FRAC_PI_2;
    assert!((rounded - expected).abs() < 1e-12, "{rounded}");
    assert_eq!(geometry::developed_length(&route, Length::metres(1.1)), None);
    let end = geometry::end_direction(&route).expect("a direction");
    assert_eq!(end, Vector { x: 0.0, y: 1.0, z: 0.0 });
    assert_eq!(end.elevation(), Some(Angle::ZERO));
}

/// The documented defaults, from memory: 5 mΩ for 100 Ah at 25 °C, twice (lead) or three times (lithium) at -20 °C.
#[test]
fn a_block_has_the_documented_resistance_and_a_bank_combines_it() {
    let inner = |chemistry, temperature| {
        let figure = battery::internal_resistance(chemistry, Charge::ampere_hours(100.0), celsius(temperature));
        figure.expect("a resistance").in_milliohms()
    };
    for (chemistry, cold) in [(Chemistry::LeadAcid, 10.0), (Chemistry::LithiumIronPhosphate, 15.0)] {
        assert!(near(inner(chemistry, 25.0), 5.0) && near(inner(chemistry, 40.0), 5.0));
        assert!(near(inner(chemistry, -20.0), cold));
    }
    let bank = battery::Bank { series: 2, parallel: 3 };
    assert!(near(bank.voltage(Voltage::volts(12.0)).in_volts(), 24.0));
    assert!(near(bank.resistance(Resistance::milliohms(6.0)).in_milliohms(), 4.0));
    assert!(near(bank.capacity(Charge::ampere_hours(90.0)).in_ampere_hours(), 270.0));
}

#[test]
fn far_above_its_rating_a_fuse_keeps_its_melting_integral() {
    let integral =
        |multiple: f64| multiple * multiple * fuses::shortest_opening_time(multiple).expect("a time").in_seconds();
    assert!(near(integral(7.0), integral(3.5)) && near(integral(30.0), integral(3.5)));
}
