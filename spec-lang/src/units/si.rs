//! Physical quantities in SI, one type each, so that a length can never be handed where an area is wanted.
//! Nothing here knows text, spelling or the language; that is `written.rs`.

use std::ops::{Add, Div, Mul, Neg, Sub};

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $from:ident, $into:ident, $symbol:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            /// The SI unit's symbol.
            pub const SYMBOL: &'static str = $symbol;
            /// Zero of this quantity.
            pub const ZERO: $name = $name(0.0);

            /// From a number in the SI unit.
            pub const fn $from(value: f64) -> Self {
                $name(value)
            }

            /// The number in the SI unit.
            pub const fn $into(self) -> f64 {
                self.0
            }

            /// The larger of two.
            pub fn max(self, other: Self) -> Self {
                $name(self.0.max(other.0))
            }

            /// The smaller of two.
            pub fn min(self, other: Self) -> Self {
                $name(self.0.min(other.0))
            }

            /// The size without its sign.
            pub fn abs(self) -> Self {
                $name(self.0.abs())
            }
        }

        impl Add for $name {
            type Output = $name;
            fn add(self, other: $name) -> $name {
                $name(self.0 + other.0)
            }
        }

        impl Sub for $name {
            type Output = $name;
            fn sub(self, other: $name) -> $name {
                $name(self.0 - other.0)
            }
        }

        impl Neg for $name {
            type Output = $name;
            fn neg(self) -> $name {
                $name(-self.0)
            }
        }

        impl Mul<f64> for $name {
            type Output = $name;
            fn mul(self, factor: f64) -> $name {
                $name(self.0 * factor)
            }
        }

        impl Div<f64> for $name {
            type Output = $name;
            fn div(self, divisor: f64) -> $name {
                $name(self.0 / divisor)
            }
        }

        impl Div<$name> for $name {
            type Output = f64;
            fn div(self, other: $name) -> f64 {
                self.0 / other.0
            }
        }

        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = $name>>(items: I) -> $name {
                $name(items.map(|item| item.0).sum())
            }
        }
    };
}

quantity!(
    /// A length or a distance.
    Length, metres, in_metres, "m"
);
quantity!(
    /// An area.
    Area, square_metres, in_square_metres, "m²"
);
quantity!(
    /// A volume.
    Volume, cubic_metres, in_cubic_metres, "m³"
);
quantity!(
    /// An angle.
    Angle, radians, in_radians, "rad"
);
quantity!(
    /// A time.
    Time, seconds, in_seconds, "s"
);
quantity!(
    /// A mass.
    Mass, kilograms, in_kilograms, "kg"
);
quantity!(
    /// A temperature on the absolute scale.
    Temperature, kelvin, in_kelvin, "K"
);
quantity!(
    /// A difference of temperatures.
    TemperatureDifference, kelvin_difference, in_kelvin_difference, "K"
);
quantity!(
    /// A pressure, or a difference of pressures.
    Pressure, pascals, in_pascals, "Pa"
);
quantity!(
    /// A volume flow.
    VolumeFlow, cubic_metres_per_second, in_cubic_metres_per_second, "m³/s"
);
quantity!(
    /// A mass flow.
    MassFlow, kilograms_per_second, in_kilograms_per_second, "kg/s"
);
quantity!(
    /// A speed.
    Speed, metres_per_second, in_metres_per_second, "m/s"
);
quantity!(
    /// A density.
    Density, kilograms_per_cubic_metre, in_kilograms_per_cubic_metre, "kg/m³"
);
quantity!(
    /// A kinematic viscosity.
    KinematicViscosity, square_metres_per_second, in_square_metres_per_second, "m²/s"
);
quantity!(
    /// An electric potential difference.
    Voltage, volts, in_volts, "V"
);
quantity!(
    /// An electric current.
    Current, amperes, in_amperes, "A"
);
quantity!(
    /// An electric resistance.
    Resistance, ohms, in_ohms, "Ω"
);
quantity!(
    /// An electric charge.
    Charge, coulombs, in_coulombs, "C"
);
quantity!(
    /// A power, heat flow included.
    Power, watts, in_watts, "W"
);
quantity!(
    /// An energy.
    Energy, joules, in_joules, "J"
);

impl Length {
    /// From millimetres.
    pub const fn millimetres(value: f64) -> Self {
        Length::metres(value * 1e-3)
    }

    /// In millimetres.
    pub const fn in_millimetres(self) -> f64 {
        self.0 * 1e3
    }
}

impl Area {
    /// From square millimetres.
    pub const fn square_millimetres(value: f64) -> Self {
        Area::square_metres(value * 1e-6)
    }

    /// In square millimetres.
    pub const fn in_square_millimetres(self) -> f64 {
        self.0 * 1e6
    }
}

impl Angle {
    /// From degrees of arc.
    pub const fn degrees(value: f64) -> Self {
        Angle::radians(value * (std::f64::consts::PI / 180.0))
    }

    /// In degrees of arc.
    pub const fn in_degrees(self) -> f64 {
        self.0 * (180.0 / std::f64::consts::PI)
    }
}

/// 0 °C on the absolute scale (exact, by definition of the Celsius scale; BIPM SI Brochure, 9th edition, 2.3.1).
pub const ICE_POINT: Temperature = Temperature::kelvin(273.15);

impl Temperature {
    /// From degrees Celsius.
    pub const fn celsius(value: f64) -> Self {
        Temperature::kelvin(value + 273.15)
    }

    /// In degrees Celsius.
    pub const fn in_celsius(self) -> f64 {
        self.0 - 273.15
    }
}

impl Resistance {
    /// From milliohms.
    pub const fn milliohms(value: f64) -> Self {
        Resistance::ohms(value * 1e-3)
    }

    /// In milliohms.
    pub const fn in_milliohms(self) -> f64 {
        self.0 * 1e3
    }
}

impl VolumeFlow {
    /// From litres an hour.
    pub const fn litres_per_hour(value: f64) -> Self {
        VolumeFlow::cubic_metres_per_second(value * (1e-3 / 3600.0))
    }

    /// In litres an hour.
    pub const fn in_litres_per_hour(self) -> f64 {
        self.0 * (3600.0 * 1e3)
    }
}

impl Charge {
    /// From ampere hours.
    pub const fn ampere_hours(value: f64) -> Self {
        Charge::coulombs(value * 3600.0)
    }

    /// In ampere hours.
    pub const fn in_ampere_hours(self) -> f64 {
        self.0 / 3600.0
    }
}

impl KinematicViscosity {
    /// From square millimetres a second (centistokes).
    pub const fn square_millimetres_per_second(value: f64) -> Self {
        KinematicViscosity::square_metres_per_second(value * 1e-6)
    }
}

impl Mul<Resistance> for Current {
    type Output = Voltage;
    fn mul(self, resistance: Resistance) -> Voltage {
        Voltage::volts(self.0 * resistance.0)
    }
}

impl Mul<Current> for Voltage {
    type Output = Power;
    fn mul(self, current: Current) -> Power {
        Power::watts(self.0 * current.0)
    }
}

impl Mul<Length> for Length {
    type Output = Area;
    fn mul(self, other: Length) -> Area {
        Area::square_metres(self.0 * other.0)
    }
}

impl Mul<Length> for Area {
    type Output = Volume;
    fn mul(self, length: Length) -> Volume {
        Volume::cubic_metres(self.0 * length.0)
    }
}

impl Add<TemperatureDifference> for Temperature {
    type Output = Temperature;
    fn add(self, difference: TemperatureDifference) -> Temperature {
        Temperature::kelvin(self.0 + difference.0)
    }
}

quantity!(
    /// An electric resistance of a conductor by its length.
    ResistancePerLength, ohms_per_metre, in_ohms_per_metre, "Ω/m"
);
quantity!(
    /// A dynamic viscosity.
    DynamicViscosity, pascal_seconds, in_pascal_seconds, "Pa·s"
);
quantity!(
    /// A surface tension.
    SurfaceTension, newtons_per_metre, in_newtons_per_metre, "N/m"
);
quantity!(
    /// An energy by mass, such as a heating value.
    SpecificEnergy, joules_per_kilogram, in_joules_per_kilogram, "J/kg"
);
quantity!(
    /// A thermal conductivity.
    ThermalConductivity, watts_per_metre_kelvin, in_watts_per_metre_kelvin, "W/(m·K)"
);
quantity!(
    /// A thermal resistance of one square metre.
    ThermalResistance, square_metre_kelvin_per_watt, in_square_metre_kelvin_per_watt, "m²·K/W"
);
quantity!(
    /// A heat flow through one square metre by kelvin (a U-value).
    ThermalTransmittance, watts_per_square_metre_kelvin, in_watts_per_square_metre_kelvin, "W/(m²·K)"
);
quantity!(
    /// A heat flow by kelvin of a whole room or a whole surface.
    HeatLossCoefficient, watts_per_kelvin, in_watts_per_kelvin, "W/K"
);
quantity!(
    /// A heat capacity of a whole body.
    HeatCapacity, joules_per_kelvin, in_joules_per_kelvin, "J/K"
);

impl ResistancePerLength {
    /// From ohms a kilometre, the unit of the cable standards.
    pub const fn ohms_per_kilometre(value: f64) -> Self {
        ResistancePerLength::ohms_per_metre(value * 1e-3)
    }

    /// In ohms a kilometre.
    pub const fn in_ohms_per_kilometre(self) -> f64 {
        self.0 * 1e3
    }
}

impl KinematicViscosity {
    /// In square millimetres a second (centistokes).
    pub const fn in_square_millimetres_per_second(self) -> f64 {
        self.0 * 1e6
    }
}

impl SpecificEnergy {
    /// From megajoules a kilogram.
    pub const fn megajoules_per_kilogram(value: f64) -> Self {
        SpecificEnergy::joules_per_kilogram(value * 1e6)
    }
}

impl Temperature {
    /// The difference from `other` up to this temperature.
    pub fn above(self, other: Temperature) -> TemperatureDifference {
        TemperatureDifference::kelvin_difference(self.0 - other.0)
    }
}

impl Mul<Length> for ResistancePerLength {
    type Output = Resistance;
    fn mul(self, length: Length) -> Resistance {
        Resistance::ohms(self.0 * length.0)
    }
}

impl Mul<Area> for ThermalTransmittance {
    type Output = HeatLossCoefficient;
    fn mul(self, area: Area) -> HeatLossCoefficient {
        HeatLossCoefficient::watts_per_kelvin(self.0 * area.0)
    }
}

impl Mul<TemperatureDifference> for HeatLossCoefficient {
    type Output = Power;
    fn mul(self, difference: TemperatureDifference) -> Power {
        Power::watts(self.0 * difference.0)
    }
}

quantity!(
    /// A heat capacity by mass.
    SpecificHeat, joules_per_kilogram_kelvin, in_joules_per_kilogram_kelvin, "J/(kg·K)"
);
