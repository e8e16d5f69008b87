//! The physics against the outside world: published tables typed in, and vectors made by general-purpose libraries.
//! Laws that hold for all inputs are in `physics_properties.rs`.

use spec_lang::physics::ampacity::{self, InsulationClass};
use spec_lang::physics::conductors::{self, Gauge};
use spec_lang::physics::duct_flow::{self, Duct};
use spec_lang::physics::fuel::{self, ClimateClass, Fuel};
use spec_lang::physics::geometry::{self, AlignedBox, Gap, Point, Segment};
use spec_lang::physics::{air, battery, bore, fuses, heat};
use spec_lang::units::*;
use trialfit_tests::reference::{Row, Table, folder};

fn gauge(row: &Row, column: &str) -> Gauge {
    Gauge { name: "", number: row.number(column) as i32 }
}

fn millimetres(row: &Row, column: &str) -> Length {
    Length::millimetres(row.number(column))
}

fn celsius(row: &Row, column: &str) -> Temperature {
    Temperature::celsius(row.number(column))
}

fn density(row: &Row, column: &str) -> Density {
    Density::kilograms_per_cubic_metre(row.number(column))
}

const TWENTY: Temperature = Temperature::celsius(20.0);
const METRES_PER_KILOFOOT: f64 = 304.8;

fn insulation(celsius: f64) -> InsulationClass {
    let class = InsulationClass::met_by(Temperature::celsius(celsius)).expect("a class");
    assert_eq!(class.temperature(), Temperature::celsius(celsius));
    class
}

// Conductors.

#[test]
fn gauges_have_the_diameter_and_area_of_astm_b258() {
    let table = Table::read("tables/astm_b258_gauges.csv");
    assert_eq!(table.rows().len(), conductors::STOCK_GAUGES.len());
    for (row, stock) in table.rows().iter().zip(conductors::STOCK_GAUGES) {
        assert_eq!(row.text("gauge"), stock.name);
        assert_eq!(gauge(row, "number").number, stock.number);
        row.check("expected_diameter_mm", stock.diameter().in_millimetres());
        row.check("expected_area_mm2", stock.area().in_square_millimetres());
        let printed = Area::square_millimetres(row.number("expected_area_mm2"));
        assert_eq!(conductors::gauge_number_of(printed), Some(stock.number));
    }
    table.finish();
}

#[test]
fn solid_copper_has_the_resistance_of_the_wire_tables() {
    let table = Table::read("tables/solid_copper_20_celsius.csv");
    for row in table.rows() {
        let area = gauge(row, "number").area();
        let figure = conductors::resistance_per_length(area, TWENTY).expect("a resistance");
        row.check("expected_ohm_per_kft", figure.in_ohms_per_metre() * METRES_PER_KILOFOOT);
    }
    table.finish();
}

#[test]
fn hot_copper_has_the_resistance_of_nec_chapter_9_table_8() {
    let table = Table::read("tables/nec_chapter_9_table_8.csv");
    for row in table.rows() {
        let area = gauge(row, "number").area();
        let hot = Temperature::celsius(75.0);
        let figure = conductors::resistance_per_length(area, hot).expect("a resistance");
        // The printed conductors are stranded: each strand is 2 % longer than the cable.
        let stranded = 1.02 * figure.in_ohms_per_metre() * METRES_PER_KILOFOOT;
        row.check("expected_ohm_per_kft", stranded);
    }
    table.finish();
}

#[test]
fn listed_metric_sizes_have_the_class_5_limit() {
    let table = Table::read("tables/iec_60228_class_5.csv");
    for row in table.rows() {
        let area = Area::square_millimetres(row.number("area_mm2"));
        let figure = conductors::resistance_per_length(area, TWENTY).expect("a resistance");
        row.check("expected_class_5_ohm_per_km", figure.in_ohms_per_kilometre());
        let metal = conductors::copper_resistance_per_length(area, TWENTY).expect("a resistance");
        let ratio = figure / metal;
        assert!((1.10..1.17).contains(&ratio), "{}: {ratio}", row.place());
        // Building wire has more copper than flexible wire of the same name; 50 mm² alone is the other way by 0.001.
        let stranded = row.number("class_2_ohm_per_km");
        assert!(stranded < figure.in_ohms_per_kilometre() + 0.0015, "{}", row.place());
    }
    for stock in conductors::METRIC_STOCK_SQUARE_MILLIMETRES {
        let listed = |row: &Row| row.number("area_mm2") == stock;
        assert!(table.rows().iter().any(listed), "{stock} mm² is no listed size");
    }
    table.finish();
}

#[test]
fn no_metric_size_is_taken_for_better_than_road_vehicle_cable() {
    let table = Table::read("tables/iso_6722_road_vehicle_cable.csv");
    for row in table.rows() {
        let area = Area::square_millimetres(row.number("area_mm2"));
        let figure = conductors::resistance_per_length(area, TWENTY).expect("a resistance");
        let ratio = figure.in_ohms_per_kilometre() / row.expect("expected_at_least_mohm_per_m");
        assert!((1.0..1.13).contains(&ratio), "{}: {ratio}", row.place());
    }
    table.finish();
}

#[test]
fn conductors_sized_for_a_drop_are_those_of_abyc_table_9() {
    let sizes = Table::read("tables/sae_minimum_area.csv");
    // The table's constant is 10.75 Ω·cmil/ft: copper a little above 29 °C.
    let circular_mil = std::f64::consts::PI / 4.0 * 0.0254_f64.powi(2);
    let resistivity = 10.75 * circular_mil / 0.3048;
    let factor = resistivity / conductors::COPPER_RESISTIVITY_AT_20_CELSIUS;
    let warm = 20.0 + (factor - 1.0) / conductors::COPPER_TEMPERATURE_COEFFICIENT;
    let table = Table::read("tables/abyc_e11_table_9.csv");
    for row in table.rows() {
        let needed = conductors::smallest_area_for_drop(
            Current::amperes(row.number("amperes")),
            Length::metres(row.number("feet_out_and_back") * 0.3048),
            Voltage::volts(0.36),
            Temperature::celsius(warm),
        )
        .expect("an area");
        let reaches = |size: &&Row| size.number("area_cmil") * circular_mil >= needed.in_square_millimetres();
        let size = sizes.rows().iter().find(reaches).expect("a size");
        row.check("expected_gauge_number", size.number("number"));
    }
    table.finish();
}

#[test]
fn a_gauge_loop_drops_what_a_units_library_computes() {
    let table = Table::read("vectors/gauge_loop.csv");
    for row in table.rows() {
        let area = gauge(row, "gauge_number").area();
        let length = Length::metres(row.number("one_way_ft") * 0.3048);
        let way = (area, length);
        let temperature = celsius(row, "temperature_C");
        let resistance = conductors::loop_resistance(way, way, temperature).expect("a resistance");
        let drop = conductors::voltage_drop(Current::amperes(row.number("current_A")), resistance);
        row.check("expected_area_mm2", area.in_square_millimetres());
        row.check("expected_loop_mohm", resistance.in_milliohms());
        row.check("expected_drop_V", drop.in_volts());
    }
    table.finish();
}

// Current-carrying capacity and fuses.

#[test]
fn gauges_carry_what_33_cfr_183_425_table_5_allows() {
    let table = Table::read("tables/cfr_183_425_table_5.csv");
    for row in table.rows() {
        for class in InsulationClass::ALL {
            let column = format!("expected_{:.0}_C_A", class.temperature().in_celsius());
            let area = gauge(row, "number").area();
            let figure = ampacity::allowable_current(area, class, ampacity::REFERENCE_AMBIENT, 1);
            row.check(&column, figure.expect("a current").in_amperes());
        }
    }
    table.finish();
}

#[test]
fn ambient_and_bundle_derate_as_the_notes_of_33_cfr_183_425() {
    let table = Table::read("tables/cfr_183_425_ambient_factors.csv");
    for row in table.rows() {
        let figure = match row.maybe("insulation_C") {
            Some(class) => ampacity::ambient_factor(insulation(class), Temperature::celsius(50.0)),
            None => ampacity::bundling_factor(row.number("bundled") as u32),
        };
        row.check("expected_factor", figure);
    }
    table.finish();
}

#[test]
fn no_metric_size_carries_more_than_iso_10133_allows() {
    let table = Table::read("tables/iso_10133_current.csv");
    for row in table.rows() {
        let area = Area::square_millimetres(row.number("area_mm2"));
        let figure = ampacity::tabled_current(area, InsulationClass::Celsius105);
        let share = figure.expect("a current").in_amperes() / row.expect("expected_at_most_A");
        assert!((0.85..=1.0).contains(&share), "{}: {share}", row.place());
    }
    table.finish();
}

#[test]
fn copper_short_circuited_has_the_factor_of_iec_60364_5_54() {
    let table = Table::read("tables/iec_60364_5_54_factor_k.csv");
    for row in table.rows() {
        let figure = ampacity::adiabatic_factor(celsius(row, "initial_C"), celsius(row, "final_C"));
        row.check("expected_k", figure.expect("a factor"));
    }
    table.finish();
}

#[test]
fn copper_short_circuited_heats_as_its_equation_integrated() {
    let table = Table::read("vectors/short_circuit.csv");
    for row in table.rows() {
        let figure = ampacity::short_circuit_time(
            Area::square_millimetres(row.number("area_mm2")),
            Current::amperes(row.number("current_A")),
            celsius(row, "initial_C"),
            celsius(row, "limit_C"),
        );
        row.check("expected_time_s", figure.expect("a time").in_seconds());
    }
    table.finish();
}

#[test]
fn blade_fuses_open_inside_the_gate_of_iso_8820_3() {
    let table = Table::read("tables/iso_8820_3_gate.csv");
    for row in table.rows() {
        let multiple = row.number("multiple");
        let shortest = fuses::shortest_opening_time(multiple).expect("a time");
        let longest = fuses::longest_opening_time(multiple).expect("a time");
        if row.maybe("expected_shortest_s").is_some() {
            row.check("expected_shortest_s", shortest.in_seconds());
        }
        row.check("expected_longest_s", longest.in_seconds());
        assert!(shortest < longest, "{}", row.place());
    }
    assert_eq!(fuses::shortest_opening_time(1.10), None);
    assert_eq!(fuses::longest_opening_time(1.34), None);
    table.finish();
}

#[test]
fn blade_fuses_resist_what_is_usual_for_their_rating() {
    let table = Table::read("tables/blade_fuse_resistance.csv");
    for row in table.rows() {
        let rating = Current::amperes(row.number("rating_A"));
        let figure = fuses::cold_resistance(rating).expect("a resistance").in_milliohms();
        let usual = row.expect("expected_least_mohm")..=row.expect("expected_most_mohm");
        assert!(usual.contains(&figure), "{}: {figure} mΩ", row.place());
    }
    table.finish();
}

// Batteries.

#[test]
fn lead_acid_rests_and_freezes_as_the_handbooks_say() {
    let table = Table::read("tables/lead_acid.csv");
    for row in table.rows() {
        let charge = row.number("state_of_charge");
        let lead = battery::Chemistry::LeadAcid;
        let rest = battery::open_circuit_voltage(lead, charge).in_volts();
        // The row's tolerance is for the freezing point; a voltage is printed to 0.1 V.
        assert!((rest - row.expect("expected_rest_V")).abs() < 0.05, "{}", row.place());
        let freezing = battery::freezing_temperature(lead, charge).expect("a temperature");
        row.check("expected_freezing_C", freezing.in_celsius());
    }
    table.finish();
}

#[test]
fn a_load_of_constant_power_draws_the_root_of_least_current() {
    let table = Table::read("vectors/constant_power.csv");
    for row in table.rows() {
        let open = Voltage::volts(row.number("open_circuit_V"));
        let resistance = Resistance::milliohms(row.number("resistance_mohm"));
        let power = Power::watts(row.number("power_W"));
        let current = battery::current_at_power(open, resistance, power).expect("a current");
        let left = battery::loaded_voltage(open, resistance, current);
        row.check("expected_current_A", current.in_amperes());
        row.check("expected_voltage_V", left.in_volts());
    }
    table.finish();
}

#[test]
fn a_battery_empties_by_peukerts_law() {
    let table = Table::read("vectors/discharge.csv");
    for row in table.rows() {
        let figure = battery::discharge_time(
            Charge::ampere_hours(row.number("capacity_Ah")),
            Time::seconds(row.number("rated_over_h") * 3600.0),
            Current::amperes(row.number("current_A")),
            row.number("exponent"),
        );
        row.check("expected_time_h", figure.expect("a time").in_seconds() / 3600.0);
    }
    table.finish();
}

// Fuel.

#[test]
fn diesel_classes_plug_and_cloud_where_en_590_says() {
    let table = Table::read("tables/en_590_climate.csv");
    assert_eq!(table.rows().len(), ClimateClass::ALL.len());
    for (row, class) in table.rows().iter().zip(ClimateClass::ALL) {
        assert_eq!(row.text("class"), format!("{class:?}"));
        row.check("expected_plugging_C", class.cold_filter_plugging_point().in_celsius());
        match class.cloud_point() {
            Some(cloud) => row.check("expected_cloud_C", cloud.in_celsius()),
            None => assert_eq!(row.maybe("expected_cloud_C"), None, "{}", row.place()),
        }
        let (low, high) = class.viscosity_limits_at_40_celsius();
        let taken = fuel::kinematic_viscosity(Fuel::Diesel(class), Temperature::celsius(40.0));
        assert!(low < taken && taken < high, "{}: {taken:?}", row.place());
    }
    table.finish();
}

fn fuel_named(row: &Row) -> Fuel {
    match row.text("fuel") {
        "diesel" => Fuel::Diesel(ClimateClass::B),
        "petrol" => Fuel::Petrol,
        other => panic!("{}: fuel `{other}`", row.place()),
    }
}

#[test]
fn fuels_thicken_in_the_cold_as_the_pure_fluids_do() {
    let table = Table::read("vectors/fuel_viscosity.csv");
    for row in table.rows() {
        let viscosity =
            |temperature| fuel::kinematic_viscosity(fuel_named(row), temperature).in_square_millimetres_per_second();
        let here = celsius(row, "temperature_C");
        if row.maybe("expected_slope").is_some() {
            let forty = Temperature::celsius(40.0);
            let line = |temperature| (viscosity(temperature) + 0.7_f64).log10().log10();
            let slope = (line(here) - line(forty)) / (forty / here).log10();
            row.check("expected_slope", slope);
        } else {
            row.check("expected_viscosity_mm2_per_s", viscosity(here));
        }
    }
    table.finish();
}

#[test]
fn fuels_expand_as_the_pure_fluids_do() {
    let table = Table::read("vectors/fuel_density.csv");
    for row in table.rows() {
        let base = density(row, "density_at_15_C_kg_per_m3");
        let figure = fuel::density_from(base, fuel_named(row), celsius(row, "temperature_C"));
        row.check("expected_density_kg_per_m3", figure.in_kilograms_per_cubic_metre());
    }
    table.finish();
}

#[test]
fn a_fuel_line_loses_what_a_flow_library_computes() {
    let table = Table::read("vectors/fuel_line.csv");
    for row in table.rows() {
        let diameter = millimetres(row, "bore_mm");
        let length = Length::metres(row.number("length_m"));
        let flow = VolumeFlow::litres_per_hour(row.number("flow_L_per_h"));
        let viscosity = KinematicViscosity::square_millimetres_per_second(row.number("viscosity_mm2_per_s"));
        let density = density(row, "density_kg_per_m3");
        let speed = bore::mean_velocity(flow, diameter).expect("a speed");
        let reynolds = bore::reynolds_number(flow, diameter, viscosity).expect("a number");
        let loss = fuel::laminar_pressure_loss(flow, diameter, length, viscosity, density);
        let head = fuel::static_head(Length::metres(row.number("rise_m")), density);
        let transit = bore::transit_time(diameter, length, flow).expect("a time");
        row.check("expected_velocity_m_per_s", speed.in_metres_per_second());
        row.check("expected_reynolds", reynolds);
        row.check("expected_friction_Pa", loss.expect("a loss").in_pascals());
        row.check("expected_static_Pa", head.in_pascals());
        row.check("expected_transit_s", transit.in_seconds());
        // A pump that delivers the same flow in strokes of a quarter of its period peaks at four times the loss.
        let stroke = Volume::cubic_metres(flow.in_cubic_metres_per_second());
        let peak = fuel::peak_flow(stroke, Time::seconds(0.25)).expect("a flow");
        let peak_loss = fuel::laminar_pressure_loss(peak, diameter, length, viscosity, density);
        let ratio = peak_loss.expect("a loss") / loss.expect("a loss");
        assert!((ratio - 4.0).abs() < 1e-9, "{}: {ratio}", row.place());
        assert_eq!(fuel::dosed_flow(stroke, 1.0), flow);
    }
    table.finish();
}

#[test]
fn bubbles_stand_still_up_to_the_critical_bond_number() {
    let table = Table::read("vectors/bubble_bore.csv");
    for row in table.rows() {
        let figure = fuel::critical_bubble_bore(
            density(row, "liquid_kg_per_m3"),
            density(row, "gas_kg_per_m3"),
            SurfaceTension::newtons_per_metre(row.number("tension_mN_per_m") * 1e-3),
        );
        row.check("expected_bore_mm", figure.expect("a bore").in_millimetres());
    }
    table.finish();
}

#[test]
fn heat_takes_the_fuel_its_heating_value_says() {
    let table = Table::read("vectors/fuel_consumption.csv");
    for row in table.rows() {
        let heat = Power::watts(row.number("heat_kW") * 1000.0);
        let mass = fuel::fuel_flow(fuel_named(row), heat, row.number("efficiency"));
        let mass = mass.expect("a flow");
        let volume = fuel::volume_flow(mass, density(row, "density_kg_per_m3"));
        row.check("expected_mass_flow_kg_per_s", mass.in_kilograms_per_second());
        let litres = volume.expect("a flow").in_litres_per_hour();
        row.check("expected_volume_flow_L_per_h", litres);
    }
    table.finish();
}

// Air and ducts.

#[test]
fn the_standard_atmosphere_is_that_of_1976() {
    let table = Table::read("tables/us_standard_atmosphere_1976.csv");
    for row in table.rows() {
        let altitude = Length::metres(row.number("altitude_m"));
        let figure = air::standard_density(altitude).in_kilograms_per_cubic_metre();
        row.check("expected_density_kg_per_m3", figure);
        row.check("expected_pressure_Pa", air::standard_pressure(altitude).in_pascals());
        let viscosity = air::dynamic_viscosity(air::standard_temperature(altitude));
        row.check("expected_viscosity_Pa_s", viscosity.in_pascal_seconds());
    }
    table.finish();
}

#[test]
fn the_standard_atmosphere_is_that_of_a_library() {
    let table = Table::read("vectors/standard_atmosphere.csv");
    for row in table.rows() {
        let altitude = Length::metres(row.number("altitude_m"));
        let temperature = air::standard_temperature(altitude).in_kelvin();
        row.check("expected_temperature_K", temperature);
        row.check("expected_pressure_Pa", air::standard_pressure(altitude).in_pascals());
        let figure = air::standard_density(altitude).in_kilograms_per_cubic_metre();
        row.check("expected_density_kg_per_m3", figure);
    }
    table.finish();
}

#[test]
fn air_on_the_day_has_the_density_of_the_reference_equation() {
    let table = Table::read("vectors/air_on_the_day.csv");
    for row in table.rows() {
        let altitude = Length::metres(row.number("altitude_m"));
        let figure = air::density_at(altitude, celsius(row, "temperature_C"));
        row.check("expected_density_kg_per_m3", figure.in_kilograms_per_cubic_metre());
    }
    table.finish();
}

#[test]
fn air_has_the_viscosity_and_heat_of_the_reference_equation() {
    let table = Table::read("vectors/air_properties.csv");
    for row in table.rows() {
        let figure = air::dynamic_viscosity(celsius(row, "temperature_C"));
        row.check("expected_viscosity_Pa_s", figure.in_pascal_seconds());
        let one = Density::kilograms_per_cubic_metre(1.0);
        let flow = VolumeFlow::cubic_metres_per_second(1.0);
        let kelvin = TemperatureDifference::kelvin_difference(1.0);
        let heat = air::heat_to_warm(flow, one, kelvin);
        row.check("expected_heat_for_1_kg_per_s_and_1_K_W", heat.in_watts());
        let rise = air::temperature_rise(heat * 12.0, flow, one).expect("a rise");
        assert!((rise.in_kelvin_difference() - 12.0).abs() < 1e-9);
    }
    table.finish();
}

#[test]
fn air_at_one_atmosphere_is_that_of_the_textbook() {
    let table = Table::read("tables/air_at_one_atmosphere.csv");
    for row in table.rows() {
        let temperature = celsius(row, "temperature_C");
        let figure = air::density_at_pressure(air::SEA_LEVEL_PRESSURE, temperature);
        row.check("expected_density_kg_per_m3", figure.in_kilograms_per_cubic_metre());
        let viscosity = air::dynamic_viscosity(temperature).in_pascal_seconds();
        row.check("expected_viscosity_Pa_s", viscosity);
    }
    table.finish();
}

#[test]
fn friction_is_colebrooks_and_laminar_below() {
    let table = Table::read("vectors/friction_factor.csv");
    for row in table.rows() {
        let figure = duct_flow::friction_factor(row.number("reynolds"), row.number("relative_roughness"));
        row.check("expected_friction_factor", figure.expect("a factor"));
    }
    table.finish();
}

#[test]
fn bends_lose_what_rennels_gives() {
    let table = Table::read("vectors/bend_loss.csv");
    for row in table.rows() {
        let figure = duct_flow::bend_loss_coefficient(
            Angle::degrees(row.number("angle_deg")),
            row.number("radius_over_bore"),
            row.number("friction_factor"),
        );
        row.check("expected_loss_coefficient", figure.expect("a coefficient"));
    }
    table.finish();
}

#[test]
fn widenings_lose_what_borda_and_carnot_give() {
    let table = Table::read("vectors/widening_loss.csv");
    for row in table.rows() {
        let (narrow, wide) = (millimetres(row, "narrow_mm"), millimetres(row, "wide_mm"));
        let figure = duct_flow::widening_loss_coefficient(narrow, wide);
        row.check("expected_loss_coefficient", figure.expect("a coefficient"));
    }
    table.finish();
}

#[test]
fn ducts_lose_what_a_flow_library_computes() {
    let table = Table::read("vectors/duct_loss.csv");
    for row in table.rows() {
        let duct = Duct {
            bore: millimetres(row, "bore_mm"),
            length: Length::metres(row.number("length_m")),
            roughness: millimetres(row, "roughness_mm"),
            fittings: row.number("fittings"),
        };
        let flow = VolumeFlow::cubic_metres_per_second(row.number("flow_m3_per_h") / 3600.0);
        let viscosity = DynamicViscosity::pascal_seconds(row.number("viscosity_Pa_s"));
        let density = density(row, "density_kg_per_m3");
        let loss = duct_flow::pressure_loss(duct, flow, density, viscosity).expect("a loss");
        row.check("expected_loss_Pa", loss.in_pascals());
        let back = duct_flow::pressure_loss(duct, -flow, density, viscosity).expect("a loss");
        assert_eq!(back, -loss, "{}: the loss follows the flow", row.place());
    }
    table.finish();
}

#[test]
fn pipes_lose_what_the_worked_examples_print() {
    let table = Table::read("tables/pipe_examples.csv");
    for row in table.rows() {
        let diameter = Length::metres(row.number("bore_m"));
        let flow = VolumeFlow::cubic_metres_per_second(row.number("flow_m3_per_s"));
        let kinematic = KinematicViscosity::square_metres_per_second(row.number("kinematic_viscosity_m2_per_s"));
        let reynolds = bore::reynolds_number(flow, diameter, kinematic).expect("a number");
        let relative = row.number("roughness_m") / row.number("bore_m");
        let factor = duct_flow::friction_factor(reynolds, relative).expect("a factor");
        row.check("expected_friction_factor", factor);
        if row.maybe("expected_loss_Pa").is_some() {
            let density = density(row, "density_kg_per_m3");
            let duct = Duct {
                bore: diameter,
                length: Length::metres(row.number("length_m")),
                roughness: Length::metres(row.number("roughness_m")),
                fittings: 0.0,
            };
            let dynamic = kinematic.in_square_metres_per_second() * density.in_kilograms_per_cubic_metre();
            let dynamic = DynamicViscosity::pascal_seconds(dynamic);
            let loss = duct_flow::pressure_loss(duct, flow, density, dynamic);
            row.check("expected_loss_Pa", loss.expect("a loss").in_pascals());
        }
    }
    table.finish();
}

// Heat.

fn layers(row: &Row) -> Vec<(Length, ThermalConductivity)> {
    let layer = |text: &str| {
        let (thickness, conductivity) = text.split_once('/').expect("thickness/conductivity");
        let number = |text: &str| -> f64 { text.parse().expect("a number") };
        (Length::millimetres(number(thickness)), ThermalConductivity::watts_per_metre_kelvin(number(conductivity)))
    };
    row.text("layers_mm_per_W_m_K").split(';').map(layer).collect()
}

#[test]
fn walls_have_the_transmittance_of_iso_6946() {
    for name in ["tables/wall_examples.csv", "vectors/wall.csv"] {
        let table = Table::read(name);
        for row in table.rows() {
            let surface = |column: &str| ThermalResistance::square_metre_kelvin_per_watt(row.number(column));
            let figure = heat::transmittance(&layers(row), surface("inner_m2K_per_W"), surface("outer_m2K_per_W"));
            let figure = figure.expect("a transmittance");
            row.check("expected_transmittance_W_per_m2K", figure.in_watts_per_square_metre_kelvin());
        }
        table.finish();
    }
}

#[test]
fn surfaces_lose_what_the_worked_example_prints() {
    let table = Table::read("tables/room_examples.csv");
    for row in table.rows() {
        let transmittance = row.number("transmittance_W_per_m2K");
        let surface = (
            ThermalTransmittance::watts_per_square_metre_kelvin(transmittance),
            Area::square_metres(row.number("area_m2")),
        );
        let figure = heat::transmission_loss(&[surface]);
        row.check("expected_loss_W_per_K", figure.in_watts_per_kelvin());
        let twice = heat::transmission_loss(&[surface, surface]);
        assert_eq!(twice, figure * 2.0);
    }
    table.finish();
}

#[test]
fn air_change_loses_what_the_enthalpies_say() {
    let table = Table::read("vectors/infiltration.csv");
    for row in table.rows() {
        let (inside, outside) = (celsius(row, "inside_C"), celsius(row, "outside_C"));
        let altitude = Length::metres(row.number("altitude_m"));
        let room = Volume::cubic_metres(row.number("volume_m3"));
        let flow = heat::air_change_flow(room, row.number("changes_per_h"));
        let loss = heat::infiltration_loss(flow, air::density_at(altitude, outside));
        let figure = heat::heat_demand(loss, inside, outside);
        row.check("expected_heat_W", figure.in_watts());
        assert_eq!(heat::heat_demand(loss, outside, inside), Power::ZERO);
    }
    table.finish();
}

#[test]
fn the_usual_infiltration_coefficient_is_air_near_twenty_degrees() {
    // EN 12831-1 prints 0.34 Wh/(m³·K), other guides 0.33: air near 20 °C at sea level lies between.
    let flow = heat::air_change_flow(Volume::cubic_metres(1.0), 1.0);
    let loss = heat::infiltration_loss(flow, air::density_at(Length::ZERO, TWENTY));
    let coefficient = loss.in_watts_per_kelvin();
    assert!((0.33..0.34).contains(&coefficient), "{coefficient}");
}

#[test]
fn a_room_warms_as_its_equation_integrated() {
    let table = Table::read("vectors/warm_up.csv");
    for row in table.rows() {
        let start = celsius(row, "start_C");
        let outside = celsius(row, "outside_C");
        let heat_in = Power::watts(row.number("heat_W"));
        let loss = HeatLossCoefficient::watts_per_kelvin(row.number("loss_W_per_K"));
        let capacity = HeatCapacity::joules_per_kelvin(row.number("capacity_J_per_K"));
        let hour = Time::seconds(3600.0);
        let target = celsius(row, "target_C");
        let time = heat::warm_up_time(start, outside, target, heat_in, loss, capacity);
        let time = time.expect("a time");
        row.check("expected_time_s", time.in_seconds());
        let after = heat::warmed_temperature(start, outside, heat_in, loss, capacity, hour);
        row.check("expected_after_one_hour_K", after.expect("a temperature").in_kelvin());
        let weak = loss * target.above(outside) * 0.99;
        let never = heat::warm_up_time(start, outside, target, weak, loss, capacity);
        assert_eq!(never, None, "{}", row.place());
    }
    table.finish();
}

#[test]
fn a_sensor_in_mixed_air_biases_the_room_as_the_enthalpies_say() {
    let table = Table::read("vectors/sensor_bias.csv");
    for row in table.rows() {
        let (set, other) = (celsius(row, "set_C"), celsius(row, "other_C"));
        let share = row.number("share_of_other");
        let bias = heat::sensor_bias(set, other, share).expect("a bias");
        row.check("expected_bias_K", bias.in_kelvin_difference());
        let sensed = heat::mixed_temperature(set + bias, other, share);
        assert!((sensed - set).in_kelvin().abs() < 1e-9, "{}", row.place());
    }
    assert_eq!(heat::sensor_bias(TWENTY, TWENTY, 1.0), None);
    table.finish();
}

// Geometry.

fn points(row: &Row) -> Vec<Point> {
    let number = |text: &str| -> f64 { text.parse().expect("a coordinate") };
    let point = |text: &str| {
        let values: Vec<f64> = text.split(' ').map(number).collect();
        let [x, y, z] = values[..] else {
            panic!("{}: a point has three coordinates", row.place());
        };
        Point { x, y, z }
    };
    row.text("points_m").split(';').map(point).collect()
}

fn four(row: &Row) -> [Point; 4] {
    points(row).try_into().expect("four points")
}

fn check_gap(row: &Row, gap: Gap) {
    row.check("expected_distance_m", gap.distance.in_metres());
    let apart = gap.on_first.distance_to(gap.on_second);
    assert!((apart - gap.distance).in_metres().abs() < 1e-12, "{}", row.place());
}

#[test]
fn legs_are_apart_what_bounded_least_squares_finds() {
    let table = Table::read("vectors/segment_pairs.csv");
    for row in table.rows() {
        let [a, b, c, d] = four(row);
        let (first, second) = (Segment { from: a, to: b }, Segment { from: c, to: d });
        let gap = geometry::segment_to_segment(first, second);
        check_gap(row, gap);
        let places = [(first.at(gap.share_of_first), gap.on_first), (second.at(gap.share_of_second), gap.on_second)];
        for (by_share, given) in places {
            assert!(by_share.distance_to(given).in_metres() < 1e-12, "{}", row.place());
        }
    }
    table.finish();
}

#[test]
fn legs_and_boxes_are_apart_what_bounded_least_squares_finds() {
    let table = Table::read("vectors/segments_and_boxes.csv");
    for row in table.rows() {
        let [from, to, one, other] = four(row);
        let aligned = AlignedBox::spanning(one, other);
        let gap = geometry::segment_to_box(Segment { from, to }, aligned);
        check_gap(row, gap);
        assert!(aligned.contains(gap.on_second), "{}", row.place());
    }
    table.finish();
}

#[test]
fn boxes_are_apart_what_bounded_least_squares_finds() {
    let table = Table::read("vectors/box_pairs.csv");
    for row in table.rows() {
        let [a, b, c, d] = four(row);
        let (first, second) = (AlignedBox::spanning(a, b), AlignedBox::spanning(c, d));
        let gap = geometry::box_to_box(first, second);
        check_gap(row, gap);
        let held = first.contains(gap.on_first) && second.contains(gap.on_second);
        assert!(held, "{}", row.place());
    }
    table.finish();
}

#[test]
fn routes_have_the_length_bend_rise_and_fall_computed_elsewhere() {
    let table = Table::read("vectors/routes.csv");
    for row in table.rows() {
        let route = points(row);
        row.check("expected_length_m", geometry::route_length(&route).in_metres());
        row.check("expected_total_bend_deg", geometry::total_bend(&route).in_degrees());
        row.check("expected_rise_m", geometry::rise(&route).in_metres());
        row.check("expected_fall_m", geometry::fall(&route).in_metres());
    }
    table.finish();
}

// The tables themselves.

#[test]
fn there_are_at_least_three_hundred_values_from_outside() {
    let mut total = 0;
    for part in ["tables", "vectors"] {
        for entry in std::fs::read_dir(folder().join(part)).expect("a folder") {
            let name = entry.expect("an entry").file_name();
            let name = name.to_str().expect("a plain name");
            total += Table::read(&format!("{part}/{name}")).expected();
        }
    }
    println!("{total} reference values");
    assert!(total >= 300, "{total}");
}

/// Makes the vectors again where a Python with `requirements.txt` is named by `TRIALFIT_REFERENCE_PYTHON`.
#[test]
fn the_committed_vectors_have_not_drifted() {
    let Some(python) = std::env::var_os("TRIALFIT_REFERENCE_PYTHON") else {
        println!("not run: TRIALFIT_REFERENCE_PYTHON names no Python");
        return;
    };
    let output = std::process::Command::new(python)
        .arg(folder().join("make_vectors.py"))
        .arg("--check")
        .output()
        .expect("the named Python starts");
    let said = String::from_utf8_lossy(&output.stdout);
    let errors = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}{errors}");
}
