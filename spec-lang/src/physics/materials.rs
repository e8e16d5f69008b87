//! Building and lining materials by the word an author writes: conductivity, density, specific heat. Surfaces are in `heat`.

use crate::units::{Density, SpecificHeat, ThermalConductivity};

/// A material of a layer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Material {
    /// Its words, the usual one first.
    pub words: &'static [&'static str],
    /// Heat conductivity at about 10 °C, dry.
    pub conductivity: ThermalConductivity,
    /// Density.
    pub density: Density,
    /// Specific heat.
    pub specific_heat: SpecificHeat,
    /// Whether light comes through: panes are made of it, and store nothing.
    pub clear: bool,
    /// Where the values are printed.
    pub source: &'static str,
}

/// A layer that conducts no more than this counts as insulation: what lies behind it does not store the room's heat.
///
/// Common practice, no source; every foam and wool of the table is below it, every wood and metal above.
pub const INSULATION: ThermalConductivity = ThermalConductivity::watts_per_metre_kelvin(0.065);

const EN_12524: &str = "EN 12524:2000, now ISO 10456:2007 table 3";
const ASHRAE: &str = "ASHRAE Handbook Fundamentals 2013, chapter 26";
const DECLARED: &str = "usual declared value, from memory";

macro_rules! material {
    (clear [$($word:literal),+], $conductivity:literal, $density:literal, $specific_heat:literal, $source:expr_2021) => {
        Material { clear: true, ..material!([$($word),+], $conductivity, $density, $specific_heat, $source) }
    };
    ([$($word:literal),+], $conductivity:literal, $density:literal, $specific_heat:literal, $source:expr_2021) => {
        Material {
            clear: false,
            words: &[$($word),+],
            conductivity: ThermalConductivity::watts_per_metre_kelvin($conductivity),
            density: Density::kilograms_per_cubic_metre($density),
            specific_heat: SpecificHeat::joules_per_kilogram_kelvin($specific_heat),
            source: $source,
        }
    };
}

/// Every material known.
///
/// Where a standard gives a range or ages a foam, the poorer insulation stands. Polyethylene foam is taken between the
/// standard's sealant (0.05) and makers' sheets for closed cells (0.034 to 0.045).
pub static MATERIALS: &[Material] = &[
    // Metals.
    material!(["steel"], 50.0, 7800.0, 450.0, EN_12524),
    material!(["stainless", "stainless-steel"], 17.0, 7900.0, 460.0, EN_12524),
    material!(["aluminium", "aluminum"], 160.0, 2800.0, 880.0, EN_12524),
    material!(["copper"], 380.0, 8900.0, 380.0, EN_12524),
    // Glass and clear plastics.
    material!(clear["glass"], 1.0, 2500.0, 750.0, EN_12524),
    material!(clear["acrylic"], 0.2, 1050.0, 1500.0, EN_12524),
    material!(clear ["pmma", "plexiglass"], 0.18, 1180.0, 1500.0, EN_12524),
    material!(clear["polycarbonate"], 0.2, 1200.0, 1200.0, EN_12524),
    // Wood and boards.
    material!(["plywood"], 0.13, 500.0, 1600.0, EN_12524),
    material!(["birch-plywood", "hardwood-plywood"], 0.17, 700.0, 1600.0, EN_12524),
    material!(["pine", "softwood", "spruce", "timber", "wood"], 0.13, 500.0, 1600.0, EN_12524),
    material!(["oak", "beech", "hardwood"], 0.18, 700.0, 1600.0, EN_12524),
    material!(["chipboard", "particleboard"], 0.14, 600.0, 1700.0, EN_12524),
    material!(["osb"], 0.13, 650.0, 1700.0, EN_12524),
    material!(["mdf"], 0.14, 600.0, 1700.0, EN_12524),
    material!(["hardboard"], 0.18, 800.0, 1700.0, EN_12524),
    material!(["softboard", "fibreboard"], 0.07, 250.0, 1700.0, EN_12524),
    material!(["plasterboard"], 0.25, 900.0, 1000.0, EN_12524),
    // Plastics and rubber.
    material!(["pvc"], 0.17, 1390.0, 900.0, EN_12524),
    material!(["vinyl", "plastic-flooring"], 0.25, 1700.0, 1400.0, EN_12524),
    material!(["abs"], 0.2, 1050.0, 1300.0, "polymer handbooks, from memory"),
    material!(["polypropylene", "pp"], 0.22, 910.0, 1800.0, EN_12524),
    material!(["polyethylene", "pe", "hdpe"], 0.5, 980.0, 1800.0, EN_12524),
    material!(["gfrp", "grp", "fibreglass"], 0.25, 1800.0, 1200.0, "handbook range 0.19 to 0.35, from memory"),
    material!(["polyester-resin"], 0.19, 1400.0, 1200.0, EN_12524),
    material!(["rubber", "rubber-mat"], 0.17, 1200.0, 1400.0, EN_12524),
    material!(["epdm"], 0.25, 1150.0, 1000.0, EN_12524),
    material!(["bitumen", "bitumen-mat"], 0.23, 1100.0, 1000.0, EN_12524),
    // Coverings.
    material!(["carpet"], 0.06, 200.0, 1300.0, EN_12524),
    material!(["felt"], 0.05, 120.0, 1300.0, EN_12524),
    material!(["linoleum"], 0.17, 1200.0, 1400.0, EN_12524),
    material!(["cork-tiles"], 0.065, 400.0, 1500.0, EN_12524),
    material!(["cork"], 0.05, 200.0, 1500.0, EN_12524),
    // Insulation.
    material!(["pe-foam", "xpe-foam"], 0.04, 33.0, 2300.0, DECLARED),
    material!(["elastomeric-foam", "closed-cell-rubber"], 0.05, 70.0, 1500.0, EN_12524),
    material!(["foam-rubber"], 0.06, 70.0, 1500.0, EN_12524),
    material!(["xps"], 0.034, 33.0, 1450.0, DECLARED),
    material!(["eps"], 0.036, 20.0, 1450.0, DECLARED),
    material!(["pir"], 0.0235, 30.0, 1400.0, ASHRAE),
    material!(["pu-foam", "pur"], 0.026, 40.0, 1470.0, ASHRAE),
    material!(["phenolic-foam"], 0.022, 40.0, 1400.0, DECLARED),
    material!(["mineral-wool", "rock-wool", "stone-wool"], 0.04, 32.0, 840.0, ASHRAE),
    material!(["glass-wool"], 0.043, 12.0, 840.0, ASHRAE),
    material!(["sheep-wool", "wool"], 0.039, 20.0, 1700.0, DECLARED),
];

/// The material of a word, in small or capital letters; `None` for a word that the table lacks.
pub fn find(word: &str) -> Option<&'static Material> {
    MATERIALS.iter().find(|material| material.words.iter().any(|known| known.eq_ignore_ascii_case(word)))
}

/// Every word, for the nearest one to a word that is not known.
pub fn words() -> impl Iterator<Item = &'static str> {
    MATERIALS.iter().flat_map(|material| material.words.iter().copied())
}
