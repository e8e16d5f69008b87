//! Laws of coolant that hold for all inputs: more flow warms less, more heat warms more, flow and rise undo each other.

use proptest::prelude::*;
use spec_lang::physics::coolant::{flow_for, temperature_rise};
use spec_lang::units::{Power, Temperature, TemperatureDifference, VolumeFlow};

fn rise(watts: f64, litres_a_minute: f64, celsius: f64) -> f64 {
    let flow = VolumeFlow::cubic_metres_per_second(litres_a_minute / 60e3);
    temperature_rise(Power::watts(watts), flow, Temperature::celsius(celsius)).expect("a rise").in_kelvin_difference()
}

proptest! {
    #[test]
    fn more_flow_warms_less_and_more_heat_warms_more(
        watts in 500.0..30_000.0, flow in 0.5..60.0, celsius in 0.0..110.0, more in 1.001..4.0,
    ) {
        let here = rise(watts, flow, celsius);
        prop_assert!(here > 0.0);
        prop_assert!(rise(watts, flow * more, celsius) < here);
        prop_assert!(rise(watts * more, flow, celsius) > here);
        // Twice the heat into twice the flow is the same rise.
        prop_assert!((rise(watts * more, flow * more, celsius) / here - 1.0).abs() < 1e-12);
    }

    #[test]
    fn flow_and_rise_undo_each_other(watts in 500.0..30_000.0, kelvin in 1.0..40.0, celsius in 0.0..110.0) {
        let mean = Temperature::celsius(celsius);
        let flow = flow_for(Power::watts(watts), TemperatureDifference::kelvin_difference(kelvin), mean).expect("a flow");
        let back = temperature_rise(Power::watts(watts), flow, mean).expect("a rise").in_kelvin_difference();
        prop_assert!((back / kelvin - 1.0).abs() < 1e-12);
    }
}
