//! Fuel and its line: viscosity, density, cold limits, friction, bubbles, heating value. No burner in here.

use crate::units::{
    Density, KinematicViscosity, Length, MassFlow, Power, Pressure, SpecificEnergy, SurfaceTension, Temperature, Time,
    Volume, VolumeFlow,
};
use std::f64::consts::PI;

/// Standard acceleration of gravity in m/s². Source: 3rd CGPM (1901), exact.
pub const STANDARD_GRAVITY: f64 = 9.80665;

/// Climate class of a diesel fuel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ClimateClass {
    /// Temperate class A.
    A,
    /// Temperate class B.
    B,
    /// Temperate class C.
    C,
    /// Temperate class D.
    D,
    /// Temperate class E.
    E,
    /// Temperate class F.
    F,
    /// Arctic and severe winter class 0.
    Arctic0,
    /// Arctic and severe winter class 1.
    Arctic1,
    /// Arctic and severe winter class 2.
    Arctic2,
    /// Arctic and severe winter class 3.
    Arctic3,
    /// Arctic and severe winter class 4.
    Arctic4,
}

impl ClimateClass {
    /// All of them, as the standard lists them.
    pub const ALL: [ClimateClass; 11] = [
        ClimateClass::A,
        ClimateClass::B,
        ClimateClass::C,
        ClimateClass::D,
        ClimateClass::E,
        ClimateClass::F,
        ClimateClass::Arctic0,
        ClimateClass::Arctic1,
        ClimateClass::Arctic2,
        ClimateClass::Arctic3,
        ClimateClass::Arctic4,
    ];

    /// Highest cold filter plugging point of the class. Source: EN 590 tables 2 and 3 (secondary copies).
    pub fn cold_filter_plugging_point(self) -> Temperature {
        Temperature::celsius(match self {
            ClimateClass::A => 5.0,
            ClimateClass::B => 0.0,
            ClimateClass::C => -5.0,
            ClimateClass::D => -10.0,
            ClimateClass::E => -15.0,
            ClimateClass::F | ClimateClass::Arctic0 => -20.0,
            ClimateClass::Arctic1 => -26.0,
            ClimateClass::Arctic2 => -32.0,
            ClimateClass::Arctic3 => -38.0,
            ClimateClass::Arctic4 => -44.0,
        })
    }

    /// Highest cloud point of the class; `None` for the temperate classes, where the standard sets none.
    ///
    /// Source: EN 590 table 3 (secondary copy; class 0 from memory).
    pub fn cloud_point(self) -> Option<Temperature> {
        let celsius = match self {
            ClimateClass::Arctic0 => -10.0,
            ClimateClass::Arctic1 => -16.0,
            ClimateClass::Arctic2 => -22.0,
            ClimateClass::Arctic3 => -28.0,
            ClimateClass::Arctic4 => -34.0,
            _ => return None,
        };
        Some(Temperature::celsius(celsius))
    }

    /// Lowest and highest kinematic viscosity at 40 °C. Source: EN 590 tables 1 and 3 (secondary copy; table 1 from memory).
    pub fn viscosity_limits_at_40_celsius(self) -> (KinematicViscosity, KinematicViscosity) {
        let (low, high) = match self {
            ClimateClass::Arctic0 | ClimateClass::Arctic1 | ClimateClass::Arctic2 => (1.5, 4.0),
            ClimateClass::Arctic3 => (1.4, 4.0),
            ClimateClass::Arctic4 => (1.2, 4.0),
            _ => (2.0, 4.5),
        };
        (
            KinematicViscosity::square_millimetres_per_second(low),
            KinematicViscosity::square_millimetres_per_second(high),
        )
    }

    /// Viscosity at 40 °C in mm²/s taken for the class: inside the limits, thinner for the colder classes, whose
    /// fuels are lighter cuts. Source: typical values, from memory.
    fn typical_viscosity_at_40_celsius(self) -> f64 {
        match self {
            ClimateClass::A | ClimateClass::B | ClimateClass::C => 2.6,
            ClimateClass::D | ClimateClass::E | ClimateClass::F => 2.2,
            _ => 1.8,
        }
    }
}

/// A grade of diesel fuel, as the trade names it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grade {
    /// Its name.
    pub name: &'static str,
    /// The standard that describes it.
    pub standard: DieselStandard,
    /// Its class, or the one that it is as thick as.
    pub class: ClimateClass,
    /// Where its name says nothing of cold: in °C, the poorest sold under it, taken for plugging point and cloud point.
    pub poorest: Option<f64>,
}

/// A standard that describes fuels for diesel engines.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DieselStandard {
    /// Diesel with up to 7 % of fatty acid ester.
    En590,
    /// With up to 10 %.
    En16734,
    /// With 20 or 30 %.
    En16709,
    /// Fatty acid ester alone.
    En14214,
    /// Paraffinic, from hydrotreated oil or synthesis.
    En15940,
    /// Diesel as North America orders it.
    AstmD975,
}

impl DieselStandard {
    /// Its number.
    pub const fn number(self) -> &'static str {
        match self {
            DieselStandard::En590 => "EN 590",
            DieselStandard::En16734 => "EN 16734",
            DieselStandard::En16709 => "EN 16709",
            DieselStandard::En14214 => "EN 14214",
            DieselStandard::En15940 => "EN 15940",
            DieselStandard::AstmD975 => "ASTM D975",
        }
    }
}

/// Plugging point in °C of the poorest class, A, of EN 590, and of the standards that take over its classes.
const POOREST_CLASS: f64 = 5.0;
/// Plugging and cloud point in °C taken for No. 1-D: common practice, no source. It mostly clouds below -35 °C.
const POOREST_NUMBER_ONE: f64 = -30.0;

macro_rules! grade {
    ($name:literal, $standard:ident, $class:ident) => {
        grade!($name, $standard, $class, None)
    };
    ($name:literal, $standard:ident, $class:ident, $poorest:expr_2021) => {
        Grade { name: $name, standard: DieselStandard::$standard, class: ClimateClass::$class, poorest: $poorest }
    };
}

/// Every grade of diesel known.
///
/// Classes: EN 590. `winter-1` and `arctic-1` are its "arctic and severe winter" class 1. A season is taken as the mildest
/// class that is usual for it: summer B, transition D, winter E, arctic 0 (common practice, no source). Names of blends:
/// EN 16942; they say what the fuel is made of, and leave cold to the classes, which EN 16734, EN 16709, EN 14214 and EN 15940
/// take over (from memory). ASTM D975 sets no cloud point by grade (its appendix gives the weather of each month to order
/// by); `no-2` is taken as poor as summer diesel may be (common practice, no source).
pub static GRADES: &[Grade] = &[
    grade!("summer", En590, B),
    grade!("transition", En590, D),
    grade!("winter", En590, E),
    grade!("arctic", En590, Arctic0),
    grade!("class-A", En590, A),
    grade!("class-B", En590, B),
    grade!("class-C", En590, C),
    grade!("class-D", En590, D),
    grade!("class-E", En590, E),
    grade!("class-F", En590, F),
    grade!("class-0", En590, Arctic0),
    grade!("class-1", En590, Arctic1),
    grade!("class-2", En590, Arctic2),
    grade!("class-3", En590, Arctic3),
    grade!("class-4", En590, Arctic4),
    grade!("winter-0", En590, Arctic0),
    grade!("winter-1", En590, Arctic1),
    grade!("winter-2", En590, Arctic2),
    grade!("winter-3", En590, Arctic3),
    grade!("winter-4", En590, Arctic4),
    grade!("arctic-0", En590, Arctic0),
    grade!("arctic-1", En590, Arctic1),
    grade!("arctic-2", En590, Arctic2),
    grade!("arctic-3", En590, Arctic3),
    grade!("arctic-4", En590, Arctic4),
    grade!("no-1", AstmD975, Arctic0, Some(POOREST_NUMBER_ONE)),
    grade!("no-2", AstmD975, B, Some(POOREST_CLASS)),
    grade!("b5", En590, B, Some(POOREST_CLASS)),
    grade!("b7", En590, B, Some(POOREST_CLASS)),
    grade!("b10", En16734, B, Some(POOREST_CLASS)),
    grade!("b20", En16709, B, Some(POOREST_CLASS)),
    grade!("b30", En16709, B, Some(POOREST_CLASS)),
    grade!("b100", En14214, B, Some(POOREST_CLASS)),
    grade!("fame", En14214, B, Some(POOREST_CLASS)),
    grade!("hvo", En15940, B, Some(POOREST_CLASS)),
    grade!("hvo100", En15940, B, Some(POOREST_CLASS)),
    grade!("xtl", En15940, B, Some(POOREST_CLASS)),
    grade!("gtl", En15940, B, Some(POOREST_CLASS)),
];

/// The grade of that name.
pub fn grade(name: &str) -> Option<&'static Grade> {
    GRADES.iter().find(|grade| grade.name == name)
}

/// What is burnt.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fuel {
    /// Diesel fuel to EN 590.
    Diesel(ClimateClass),
    /// Petrol to EN 228.
    Petrol,
}

/// Slope of the viscosity line of diesel-like fuels: that of n-dodecane between 0 °C and 40 °C.
const WALTHER_SLOPE: f64 = 3.90;
/// Offset in the viscosity equation in mm²/s. Source: ASTM D341.
const WALTHER_OFFSET: f64 = 0.7;
/// Viscosity of n-heptane at 20 °C in mm²/s, standing for petrol.
const PETROL_VISCOSITY_AT_20_CELSIUS: f64 = 0.603;
/// Temperature in K of the exponential through n-heptane's viscosity at -30 °C and 20 °C.
const PETROL_VISCOSITY_TEMPERATURE: f64 = 872.0;

/// Kinematic viscosity by temperature.
///
/// Diesel: log log (ν + 0.7) falls along a straight line in log T, through a typical value at 40 °C (2.6 mm²/s for
/// classes A to C, 2.2 for D to F, 1.8 for arctic) with the slope of n-dodecane, 3.90. Petrol: n-heptane's 0.603 mm²/s at 20 °C
/// with an exponential in 1/T. Valid from -50 °C to 80 °C (held at those ends outside), 2 % high at 70 °C, while the fuel is clear: below its
/// cloud point wax makes it thicker than this. Sources: ASTM D341 (Walther's equation); slope, and petrol, fitted to reference
/// equations of n-dodecane and n-heptane; typical values from memory.
pub fn kinematic_viscosity(fuel: Fuel, temperature: Temperature) -> KinematicViscosity {
    let kelvin = held(temperature).in_kelvin();
    KinematicViscosity::square_millimetres_per_second(match fuel {
        Fuel::Diesel(class) => {
            let at_40 = (class.typical_viscosity_at_40_celsius() + WALTHER_OFFSET).log10();
            let ratio = (313.15 / kelvin).powf(WALTHER_SLOPE);
            10.0_f64.powf(at_40 * ratio) - WALTHER_OFFSET
        }
        Fuel::Petrol => {
            PETROL_VISCOSITY_AT_20_CELSIUS * (PETROL_VISCOSITY_TEMPERATURE * (1.0 / kelvin - 1.0 / 293.15)).exp()
        }
    })
}

/// A fuel's temperature within the range its correlations hold for.
fn held(temperature: Temperature) -> Temperature {
    temperature.max(Temperature::celsius(-50.0)).min(Temperature::celsius(80.0))
}

/// Density at 15 °C taken for a fuel: diesel 832, petrol 745 kg/m³.
///
/// Sources: EN 590 (820 to 845; the United Kingdom's published average for 2025 is 832.4), EN 228 (720 to 775, from memory).
pub fn density_at_15_celsius(fuel: Fuel) -> Density {
    Density::kilograms_per_cubic_metre(match fuel {
        Fuel::Diesel(_) => 832.0,
        Fuel::Petrol => 745.0,
    })
}

/// Density of a fuel by temperature, from its usual density at 15 °C. Sources: [`density_at_15_celsius`], [`density_from`].
pub fn density(fuel: Fuel, temperature: Temperature) -> Density {
    density_from(density_at_15_celsius(fuel), fuel, temperature)
}

/// Density by temperature from a stated density at 15 °C: ρ15 exp(-α Δ (1 + 0.8 α Δ)), with α = (K0 + K1 ρ15) / ρ15² and Δ = T - 15 °C.
///
/// Falls by about 0.7 kg/m³ a kelvin for diesel, 0.9 for petrol. Valid from -50 °C to 80 °C (held at those ends outside) and
/// from 650 to 900 kg/m³ (held at those ends to find α).
/// Source: API MPMS chapter 11.1 / ASTM D1250 tables 53B, 54B (constants for fuel oils and gasolines from memory).
pub fn density_from(at_15: Density, fuel: Fuel, temperature: Temperature) -> Density {
    let reference = at_15.in_kilograms_per_cubic_metre().clamp(650.0, 900.0);
    let (zeroth, first) = match fuel {
        Fuel::Diesel(_) => (186.9696, 0.4862),
        Fuel::Petrol => (346.4228, 0.4388),
    };
    let expansion = (zeroth + first * reference) / (reference * reference);
    let change = expansion * (held(temperature).in_celsius() - 15.0);
    at_15 * (-change * (1.0 + 0.8 * change)).exp()
}

/// Lower heating value: diesel 42.84, petrol 43.0 MJ/kg.
///
/// Sources: diesel, the United Kingdom's published conversion factors for 2025 (average with biofuel, secondary copy);
/// petrol, Directive (EU) 2018/2001 annex III (from memory). Higher heating values, 6 to 7 % above, are not these.
pub fn lower_heating_value(fuel: Fuel) -> SpecificEnergy {
    SpecificEnergy::megajoules_per_kilogram(match fuel {
        Fuel::Diesel(_) => 42.84,
        Fuel::Petrol => 43.0,
    })
}

/// Surface tension against air at about 20 °C: diesel 0.028, petrol 0.021 N/m. Source: handbook values, from memory.
pub fn surface_tension(fuel: Fuel) -> SurfaceTension {
    SurfaceTension::newtons_per_metre(match fuel {
        Fuel::Diesel(_) => 0.028,
        Fuel::Petrol => 0.021,
    })
}

/// Fuel burnt for a heat output at an efficiency (above 0, up to 1): P / (η H).
///
/// `None` unless the efficiency is positive. Source: energy balance on the lower heating value.
pub fn fuel_flow(fuel: Fuel, heat_output: Power, efficiency: f64) -> Option<MassFlow> {
    (efficiency > 0.0).then(|| {
        MassFlow::kilograms_per_second(
            heat_output.in_watts() / (efficiency * lower_heating_value(fuel).in_joules_per_kilogram()),
        )
    })
}

/// Share of the fuel's heat that becomes output: P / (Q ρ15 H), on the lower heating value.
///
/// `None` unless the flow is positive. More than 1 cannot be. Source: energy balance; [`density_at_15_celsius`], [`lower_heating_value`].
pub fn efficiency(fuel: Fuel, heat_output: Power, flow: VolumeFlow) -> Option<f64> {
    (flow > VolumeFlow::ZERO).then(|| {
        let burnt = flow.in_cubic_metres_per_second() * density_at_15_celsius(fuel).in_kilograms_per_cubic_metre();
        heat_output.in_watts() / (burnt * lower_heating_value(fuel).in_joules_per_kilogram())
    })
}

/// Strokes a second that a flow takes: Q / V. `None` unless the stroke is positive. Source: continuity.
pub fn strokes_per_second(flow: VolumeFlow, stroke: Volume) -> Option<f64> {
    (stroke > Volume::ZERO).then(|| flow.in_cubic_metres_per_second() / stroke.in_cubic_metres())
}

/// How often a pump that runs for a time at a flow must run to fill a volume, counted in whole runs.
///
/// `None` unless flow and time are positive and the volume not negative. No leak back between runs. Source: continuity.
pub fn runs_to_fill(volume: Volume, flow: VolumeFlow, time: Time) -> Option<f64> {
    let each = flow.in_cubic_metres_per_second() * time.in_seconds();
    // A hair of room keeps a volume filled to the letter from asking for one run more.
    (each > 0.0 && volume >= Volume::ZERO).then(|| (volume.in_cubic_metres() / each - 1e-9).ceil().max(0.0))
}

/// Volume flow of a mass flow at a density; `None` unless the density is positive. Source: definition of density.
pub fn volume_flow(flow: MassFlow, density: Density) -> Option<VolumeFlow> {
    (density > Density::ZERO).then(|| {
        VolumeFlow::cubic_metres_per_second(flow.in_kilograms_per_second() / density.in_kilograms_per_cubic_metre())
    })
}

/// Friction loss of laminar flow in a round bore: 128 ρ ν L Q / (π D⁴), with the sign of the flow.
///
/// `None` unless the bore is positive. Valid below Re 2040; above it the real loss is higher.
/// Source: Hagen-Poiseuille (White, Fluid Mechanics, eq. 6.12).
pub fn laminar_pressure_loss(
    flow: VolumeFlow,
    bore: Length,
    length: Length,
    viscosity: KinematicViscosity,
    density: Density,
) -> Option<Pressure> {
    (bore > Length::ZERO).then(|| {
        Pressure::pascals(
            128.0
                * density.in_kilograms_per_cubic_metre()
                * viscosity.in_square_metres_per_second()
                * length.in_metres()
                * flow.in_cubic_metres_per_second()
                / (PI * bore.in_metres().powi(4)),
        )
    })
}

/// Pressure of a column: ρ g h, positive where the outlet is above the inlet. Source: hydrostatics.
pub fn static_head(rise: Length, density: Density) -> Pressure {
    Pressure::pascals(density.in_kilograms_per_cubic_metre() * STANDARD_GRAVITY * rise.in_metres())
}

/// Flow while a dosing pump's stroke lasts: stroke volume over stroke time.
///
/// Its laminar loss is the upper bound for a rigid line; the mean flow's loss is the lower. `None` unless the time is positive.
/// Source: continuity; an elastic line or a bubble lowers the peak.
pub fn peak_flow(stroke: Volume, stroke_time: Time) -> Option<VolumeFlow> {
    (stroke_time > Time::ZERO)
        .then(|| VolumeFlow::cubic_metres_per_second(stroke.in_cubic_metres() / stroke_time.in_seconds()))
}

/// Mean flow of a dosing pump: stroke volume times strokes a second. Source: continuity.
pub fn dosed_flow(stroke: Volume, strokes_per_second: f64) -> VolumeFlow {
    VolumeFlow::cubic_metres_per_second(stroke.in_cubic_metres() * strokes_per_second)
}

/// Bond number of a tube on its radius at which a long bubble begins to rise. Source: Bretherton 1961, J. Fluid Mech. 10, 166.
pub const CRITICAL_BOND_NUMBER: f64 = 0.842;

/// Largest bore in which a long bubble does not rise by itself: 2 √(0.842 σ / ((ρ_l - ρ_g) g)).
///
/// In a narrower upright bore a bubble is carried or stands still; in a wider one it gathers at high points.
/// `None` unless the liquid is the denser and the tension is not negative.
/// Source: Bretherton 1961 (Bond number on the radius); round tube, wetted wall.
pub fn critical_bubble_bore(liquid: Density, gas: Density, tension: SurfaceTension) -> Option<Length> {
    let difference = (liquid - gas).in_kilograms_per_cubic_metre();
    let newtons_per_metre = tension.in_newtons_per_metre();
    (difference > 0.0 && newtons_per_metre >= 0.0).then(|| {
        let radius_squared = CRITICAL_BOND_NUMBER * newtons_per_metre / (difference * STANDARD_GRAVITY);
        Length::metres(2.0 * radius_squared.sqrt())
    })
}
