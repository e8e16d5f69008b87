//! What pipes, hoses, ducts and fuel lines are made of, and the heat that each bears. No route and no finding in here.

use crate::units::Temperature;

/// What a tube is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[allow(missing_docs)] // each name is its own description
pub enum TubeMaterial {
    StainlessSteel,
    AluminisedSteel,
    Steel,
    CastIron,
    GalvanisedSteel,
    Aluminium,
    Copper,
    Brass,
    /// Aluminium foil on paper.
    AluminiumPaper,
    Paper,
    GlassFibre,
    Textile,
    Wood,
    Rubber,
    Epdm,
    Nitrile,
    Chloroprene,
    FluoroRubber,
    Silicone,
    /// A plastic that nobody names.
    Plastic,
    Polyamide,
    Polyethylene,
    Polypropylene,
    Pvc,
    Polyurethane,
    Abs,
    Ptfe,
}

/// What a material does in exhaust gas.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum InExhaust {
    /// It bears gas as hot as this.
    Bears(Temperature),
    /// It melts, chars or burns there, or lets the gas through, whatever anybody states.
    Never,
}

/// Every word for a material, the usual one of each first.
static WORDS: &[(&str, TubeMaterial)] = &[
    ("stainless-steel", TubeMaterial::StainlessSteel),
    ("stainless", TubeMaterial::StainlessSteel),
    ("aluminised-steel", TubeMaterial::AluminisedSteel),
    ("steel", TubeMaterial::Steel),
    ("cast-iron", TubeMaterial::CastIron),
    ("galvanised-steel", TubeMaterial::GalvanisedSteel),
    ("aluminium", TubeMaterial::Aluminium),
    ("aluminum", TubeMaterial::Aluminium),
    ("copper", TubeMaterial::Copper),
    ("brass", TubeMaterial::Brass),
    ("aluminium-paper", TubeMaterial::AluminiumPaper),
    ("paper", TubeMaterial::Paper),
    ("cardboard", TubeMaterial::Paper),
    ("glass-fibre", TubeMaterial::GlassFibre),
    ("textile", TubeMaterial::Textile),
    ("wood", TubeMaterial::Wood),
    ("timber", TubeMaterial::Wood),
    ("rubber", TubeMaterial::Rubber),
    ("epdm", TubeMaterial::Epdm),
    ("nitrile", TubeMaterial::Nitrile),
    ("nbr", TubeMaterial::Nitrile),
    ("chloroprene", TubeMaterial::Chloroprene),
    ("neoprene", TubeMaterial::Chloroprene),
    ("fluoro-rubber", TubeMaterial::FluoroRubber),
    ("fkm", TubeMaterial::FluoroRubber),
    ("silicone", TubeMaterial::Silicone),
    ("plastic", TubeMaterial::Plastic),
    ("polyamide", TubeMaterial::Polyamide),
    ("nylon", TubeMaterial::Polyamide),
    ("pa", TubeMaterial::Polyamide),
    ("polyethylene", TubeMaterial::Polyethylene),
    ("pe", TubeMaterial::Polyethylene),
    ("polypropylene", TubeMaterial::Polypropylene),
    ("pp", TubeMaterial::Polypropylene),
    ("pvc", TubeMaterial::Pvc),
    ("polyurethane", TubeMaterial::Polyurethane),
    ("pu", TubeMaterial::Polyurethane),
    ("abs", TubeMaterial::Abs),
    ("ptfe", TubeMaterial::Ptfe),
];

impl TubeMaterial {
    /// The material of a word.
    pub fn named(word: &str) -> Option<TubeMaterial> {
        WORDS.iter().find(|(known, _)| *known == word).map(|(_, material)| *material)
    }

    /// Every word for a material.
    pub fn words() -> impl Iterator<Item = &'static str> {
        WORDS.iter().map(|(word, _)| *word)
    }

    /// Its usual word.
    pub fn word(self) -> &'static str {
        WORDS.iter().find(|(_, material)| *material == self).map_or("", |(word, _)| word)
    }

    /// Whether it is metal all through: its outside is as hot to a hand as metal is.
    pub fn is_metal(self) -> bool {
        matches!(self.in_exhaust(), InExhaust::Bears(_))
    }

    /// What it does in exhaust gas.
    ///
    /// All from memory: austenitic stainless steel scales above some 850 °C, plain steel and cast iron above some 500 °C,
    /// steel with an aluminium coat above some 650 °C; zinc coats last to some 200 °C; aluminium, copper and brass have lost
    /// most of their strength above some 200 °C. Handbook values; a pipe's own data sheet stands above them.
    pub fn in_exhaust(self) -> InExhaust {
        use TubeMaterial::*;
        let celsius = match self {
            StainlessSteel => 800.0,
            AluminisedSteel => 650.0,
            Steel | CastIron => 500.0,
            GalvanisedSteel | Aluminium | Copper | Brass => 200.0,
            AluminiumPaper | Paper | GlassFibre | Textile | Wood | Rubber | Epdm | Nitrile | Chloroprene
            | FluoroRubber | Silicone | Plastic | Polyamide | Polyethylene | Polypropylene | Pvc | Polyurethane
            | Abs | Ptfe => return InExhaust::Never,
        };
        InExhaust::Bears(Temperature::celsius(celsius))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::vocabulary::TUBE_MATERIALS;

    #[test]
    fn the_vocabulary_and_the_table_of_materials_know_the_same_words() {
        assert_eq!(TubeMaterial::words().collect::<Vec<_>>(), TUBE_MATERIALS);
        for (word, material) in WORDS {
            assert_eq!(TubeMaterial::named(material.word()), Some(*material), "{word}");
        }
    }
}
