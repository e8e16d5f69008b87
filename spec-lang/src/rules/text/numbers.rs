//! Rules about numbers, units, ranges and dates.

use super::{LANGUAGE, each_slip, measured};
use crate::finding::Severity;
use crate::reading::SlipKind;
use crate::rules::About;
use crate::rules::{Family, Guards, Rule};
use crate::units::{Dimension, find_unit, rounded};

pub(super) static UNIT_MISSING: Rule = Rule {
    name: "unit-missing",
    family: Family::Text,
    severity: Severity::Error,
    title: "a number without its unit",
    source: LANGUAGE,
    explanation: "Every number needs its unit. A bare `140` may be millimetres, inches or feet. Somebody would drill by a \
                  wrong guess.",
    mend: "Write the unit after the number.",
    bad: "job \"Bench job\"\n  design-cold   -15",
    good: "job \"Bench job\"\n  design-cold   -15 °C",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            let SlipKind::NoUnit { wanted } = seen.slip.kind else { return None };
            let number = seen.text();
            let mut finding = findings
                .at(seen.place, format!("`{number}` has no unit; expected {}", measured(wanted)))
                .label("which unit?")
                .help(format!("write the unit after the number{}", seen.as_in()));
            for unit in usual_units(wanted) {
                let gap = if *unit == "°" { "" } else { " " };
                let mended = format!("{number}{gap}{unit}");
                finding = finding.replace(format!("write `{mended}`"), mended, false);
            }
            Some(finding)
        });
    },
};

/// The units a fitter writes first for a dimension.
const fn usual_units(dimension: Dimension) -> &'static [&'static str] {
    match dimension {
        Dimension::Length => &["mm", "m", "in"],
        Dimension::Area => &["m²", "cm²"],
        Dimension::Conductor => &["mm²", "AWG"],
        Dimension::Volume => &["L", "m³"],
        Dimension::Angle => &["°"],
        Dimension::Time => &["s", "min", "h"],
        Dimension::Mass => &["kg"],
        Dimension::Temperature => &["°C", "°F"],
        Dimension::TemperatureDifference => &["K"],
        Dimension::Pressure => &["Pa", "kPa"],
        Dimension::VolumeFlow => &["L/h", "m³/h"],
        Dimension::Speed => &["m/s"],
        Dimension::Density => &["kg/m³"],
        Dimension::Voltage => &["V"],
        Dimension::Current => &["A"],
        Dimension::Resistance => &["mΩ"],
        Dimension::Charge => &["Ah"],
        Dimension::Power => &["kW", "W"],
        Dimension::Energy => &["kWh", "Wh"],
        Dimension::Ratio => &["%"],
        Dimension::Rate => &["/h"],
        Dimension::ThermalConductivity => &["W/mK"],
        Dimension::ThermalTransmittance => &["W/m²K"],
        Dimension::Any => &["mm", "V", "°C"],
    }
}

pub(super) static UNIT_UNKNOWN: Rule = Rule {
    name: "unit-unknown",
    family: Family::Text,
    severity: Severity::Error,
    title: "a unit that the language does not know",
    source: LANGUAGE,
    explanation: "The letters after the number are not a unit that the language knows. Capital and small letters differ: `mW` \
                  and `MW` are not the same.",
    mend: "Write the unit as the message shows it.",
    bad: "job \"Bench job\"\n  design-cold   -15°c",
    good: "job \"Bench job\"\n  design-cold   -15 °C",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            let SlipKind::UnknownUnit { nearest } = seen.slip.kind else { return None };
            let written = seen.text();
            Some(match nearest {
                Some(near) => findings
                    .at(seen.place, format!("`{written}` is not a unit; the nearest is `{near}`"))
                    .label("not a unit")
                    .help(format!("write `{near}` if you mean that{}", seen.as_in()))
                    .replace(format!("write `{near}`"), near, false),
                None => findings
                    .at(seen.place, format!("`{written}` is not a unit that the language knows"))
                    .label("not a unit")
                    .help(format!("write a unit after the number{}", seen.as_in())),
            })
        });
    },
};

pub(super) static WRONG_DIMENSION: Rule = Rule {
    name: "wrong-dimension",
    family: Family::Text,
    severity: Severity::Error,
    title: "a unit that measures something else",
    source: LANGUAGE,
    explanation: "The number's unit does not measure what the line states: for example, amperes where a length belongs.",
    mend: "Write the number with the right unit, or move it to the line it belongs to.",
    bad: "job \"Bench job\"\n  runs-for      8 Ah",
    good: "job \"Bench job\"\n  runs-for      8 h",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            let SlipKind::WrongDimension { wanted, found } = seen.slip.kind else { return None };
            let title = format!("`{}` is {}; expected {}", seen.text(), found.describe().0, measured(wanted));
            Some(
                findings
                    .at(seen.place, title)
                    .label(format!("{}, not {}", found.describe().0, wanted.describe().0))
                    .help(format!("write {}{}", wanted.describe().0, seen.as_in())),
            )
        });
    },
};

pub(super) static BARE_MILLIMETRES: Rule = Rule {
    name: "bare-millimetres",
    family: Family::Text,
    severity: Severity::Error,
    title: "a length in place of a conductor's area",
    source: LANGUAGE,
    explanation: "A conductor's size is the area of its copper in mm², or a wire gauge. `4 mm` can mean an area of 4 mm² or a \
                  diameter. On a cable it is often the diameter over the insulation. That says little about the copper \
                  inside.",
    mend: "Write the area that is printed on the cable or its reel.",
    bad: "stock cable\n  sizes         2.5 mm², 4 mm",
    good: "stock cable\n  sizes         2.5 mm², 4 mm²",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            let SlipKind::BareMillimetres { number } = seen.slip.kind else { return None };
            let written = seen.text();
            let finding = findings
                .at(seen.place, format!("`{written}` is a length; a conductor's size is an area, such as `4 mm²`"))
                .label("an area, or a diameter?");
            // Other units than millimetres come here too: `1/4 in` has only the reading as a diameter.
            let millimetres = written
                .rsplit(|letter: char| letter.is_whitespace() || letter.is_ascii_digit())
                .next()
                .and_then(find_unit)
                .map(|unit| unit.to_si(number) * 1e3)
                .filter(|size| *size > 0.0 && *size < 40.0);
            let Some(diameter) = millimetres else {
                return Some(finding.help("write the area that is printed on the cable, in `mm²`, or its `AWG` gauge"));
            };
            let area = rounded(std::f64::consts::FRAC_PI_4 * diameter * diameter);
            let help = format!(
                "copper of {written} diameter has an area of {area} mm²; a diameter over the insulation does not tell the \
                 area: write the area that is printed on the cable"
            );
            let finding = finding.help(help);
            let finding = if written.ends_with("mm") {
                let as_area = format!("{written}²");
                finding.replace(format!("read it as an area: write `{as_area}`"), as_area, false)
            } else {
                finding
            };
            let as_diameter = format!("{area} mm²");
            Some(finding.replace(
                format!("read it as the diameter of the copper: write `{as_diameter}`"),
                as_diameter,
                false,
            ))
        });
    },
};

pub(super) static COMMA_IN_NUMBER: Rule = Rule {
    name: "comma-in-number",
    family: Family::Text,
    severity: Severity::Error,
    title: "a comma between two digits",
    source: LANGUAGE,
    explanation: "One reader takes `1,450` for about one and a half, another for fourteen hundred and fifty. Decimals take a \
                  point. Thousands take no mark. In a list a space stands after each comma.",
    mend: "Write a point, leave the comma out, or put a space after it.",
    bad: "job \"Bench job\"\n  runs-for      8,5 h",
    good: "job \"Bench job\"\n  runs-for      8.5 h",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            let SlipKind::CommaInNumber { as_point, as_thousands } = &seen.slip.kind else { return None };
            let written = seen.text();
            let readings: Vec<&str> = [Some(as_point).filter(|point| !point.is_empty()), as_thousands.as_ref()]
                .into_iter()
                .flatten()
                .map(String::as_str)
                .collect();
            let title = match readings.as_slice() {
                [] => format!("`{written}` has a comma between digits"),
                [only] => format!("`{written}` has a comma between digits; write `{only}` if you mean that"),
                _ => format!(
                    "`{written}` has a comma between digits: it may mean {}",
                    super::listed(readings.iter().copied())
                ),
            };
            let mut finding = findings
                .at(seen.place, title)
                .label("a decimal point, or thousands?")
                .help("write a decimal point and no mark for thousands; in a list, put a space after each comma");
            for reading in readings {
                finding = finding.replace(format!("write `{reading}`"), reading, false);
            }
            Some(finding)
        });
    },
};

pub(super) static NUMBER_UNREADABLE: Rule = Rule {
    name: "number-unreadable",
    family: Family::Text,
    severity: Severity::Error,
    title: "a number that cannot be read",
    source: LANGUAGE,
    explanation: "A fraction over nought has no value. A wire gauge such as `2/0` takes the unit `AWG` and no other.",
    mend: "Write the number as a decimal. After a gauge, write `AWG`.",
    bad: "job \"Bench job\"\n  runs-for      8/0 h",
    good: "job \"Bench job\"\n  runs-for      8 h",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            if seen.slip.kind != SlipKind::NumberUnreadable {
                return None;
            }
            Some(
                findings
                    .at(seen.place, format!("`{}` cannot be read as a number", seen.text()))
                    .label("not a number")
                    .help(format!(
                        "write it as a decimal, such as `1.5`; after a gauge such as `2/0`, write `AWG`{}",
                        seen.as_in()
                    )),
            )
        });
    },
};

pub(super) static RANGE_BACKWARDS: Rule = Rule {
    name: "range-backwards",
    family: Family::Text,
    severity: Severity::Error,
    title: "a range that runs from high to low",
    source: LANGUAGE,
    explanation: "A range is written from low to high. If it runs the other way, one of the two numbers may be wrong.",
    mend: "If both numbers are right, put the lower one first.",
    bad: "job \"Bench job\"\n  altitude      600 m .. 0 m",
    good: "job \"Bench job\"\n  altitude      0 m .. 600 m",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            if seen.slip.kind != SlipKind::RangeBackwards {
                return None;
            }
            let written = seen.text();
            let finding = findings
                .at(seen.place, format!("`{written}` runs from high to low"))
                .label("the higher number comes first")
                .help("put the lower number first");
            let ends = written.split_once("..").or_else(|| written.split_once('…'));
            let Some((high, low)) = ends else { return Some(finding) };
            let (high, low) = (high.trim(), low.trim());
            // `600 .. 0 m`: the unit stands once, at the end, and stays there.
            let unit = low.trim_start_matches(|letter: char| letter.is_ascii_digit() || "+-−./ ".contains(letter));
            let bare = high.ends_with(|letter: char| letter.is_ascii_digit());
            let turned = match low.strip_suffix(unit).filter(|_| bare) {
                Some(number) => format!("{} .. {high} {unit}", number.trim_end()),
                None => format!("{low} .. {high}"),
            };
            Some(finding.replace(format!("write `{turned}`"), turned, false))
        });
    },
};

pub(super) static NO_SUCH_DAY: Rule = Rule {
    name: "no-such-day",
    family: Family::Text,
    severity: Severity::Error,
    title: "a day that is not in the calendar",
    source: "ISO 8601-1:2019, calendar dates",
    explanation: "A date is written year, month, day: `2027-03-31`. There is no such day in the calendar.",
    mend: "Write a day that is in the calendar, year first.",
    bad: "job \"Bench job\"\n  drawn-on      2026-02-30",
    good: "job \"Bench job\"\n  drawn-on      2026-02-28",
    guards: Guards::Text,
    measures: &[],
    explained_by: &[],
    about: About::Written,
    asks: &[],
    find: |findings| {
        each_slip(findings, |findings, seen| {
            if seen.slip.kind != SlipKind::NoSuchDay {
                return None;
            }
            Some(
                findings
                    .at(seen.place, format!("`{}` is not a day in the calendar", seen.text()))
                    .label("no such day")
                    .help("write year, month, day, such as `2027-03-31`"),
            )
        });
    },
};
