//! Coolant against a general-purpose library: density, specific heat, and the rise over a heater.

use spec_lang::physics::coolant;
use spec_lang::units::{Power, Temperature, TemperatureDifference, VolumeFlow};
use trialfit_tests::reference::Table;

#[test]
fn half_and_half_has_the_density_and_heat_of_the_library() {
    let table = Table::read("vectors/coolant_properties.csv");
    for row in table.rows() {
        let temperature = Temperature::celsius(row.number("temperature_C"));
        let density = coolant::density(temperature).expect("a density");
        row.check("expected_density_kg_per_m3", density.in_kilograms_per_cubic_metre());
        row.check("expected_specific_heat_J_per_kg_K", coolant::specific_heat(temperature).expect("a heat"));
    }
    table.finish();
}

#[test]
fn a_flow_warms_by_what_the_librarys_enthalpies_say() {
    let table = Table::read("vectors/coolant_flow.csv");
    for row in table.rows() {
        let heat = Power::watts(1e3 * row.number("heat_kW"));
        let flow = VolumeFlow::cubic_metres_per_second(row.number("flow_L_per_min") / 60e3);
        let mean = Temperature::celsius(row.number("mean_C"));
        let rise = coolant::temperature_rise(heat, flow, mean).expect("a rise");
        row.check("expected_rise_K", rise.in_kelvin_difference());
        let back = coolant::flow_for(heat, rise, mean).expect("a flow");
        assert!((back / flow - 1.0).abs() < 1e-12, "{}", row.place());
    }
    table.finish();
}

#[test]
fn what_physics_does_not_answer_is_not_answered() {
    let (heat, mean) = (Power::watts(5000.0), Temperature::celsius(60.0));
    assert!(coolant::temperature_rise(heat, VolumeFlow::ZERO, mean).is_none());
    assert!(coolant::flow_for(heat, TemperatureDifference::ZERO, mean).is_none());
    for celsius in [-0.5, 110.5, f64::NAN] {
        assert!(coolant::density(Temperature::celsius(celsius)).is_none(), "{celsius}");
        assert!(coolant::heat_by_volume(Temperature::celsius(celsius)).is_none(), "{celsius}");
    }
}
