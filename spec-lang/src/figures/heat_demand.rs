//! The heat that each space needs, against what its heaters give. Whether that is good enough is not in here.

use super::return_air::{DrawnFrom, USUAL_SET_POINT, heated_spaces, warms_air};
use super::{DEFAULT_COLD, Figure, Figures, Section, Step, Unjudged, input};
use crate::model::{Interval, Job, Layer, Space, Surface, unit_or};
use crate::physics::air::{SPECIFIC_HEAT_OF_AIR, density_at};
use crate::physics::heat::{
    HEAT_OF_A_PERSON, HeatDirection, OUTER_SURFACE_RESISTANCE, air_change_flow, bridged_transmittance,
    infiltration_loss, inner_surface_resistance, stored_by_air, stored_by_layers, transmittance,
};
use crate::physics::materials::{self, Material};
use crate::physics::night::{self, warm_up};
use crate::source::Place;
use crate::units::{
    Area, Density, HeatCapacity, HeatLossCoefficient, Length, Power, Quantity, Temperature, ThermalConductivity, Unit,
    Volume, VolumeFlow,
};

/// Air changes an hour taken where a space states none: a vehicle shut for the night. Common practice, no source.
pub const USUAL_AIR_CHANGES: f64 = 1.0;
/// Specific heat taken for what stands in a space, in J/(kg·K): wood, cloth, paper, some metal. Common practice, no source.
pub const SPECIFIC_HEAT_OF_CONTENTS: f64 = 1000.0;

/// Heat that air and loose furniture of a space take up by kelvin and square metre of floor, in J/(m²·K): what warms with
/// the air. Of stated contents so much is counted to the air, and the rest to the mass behind the inner surfaces.
/// Source: ISO 52016-1:2017 table B.17 (from memory).
pub const AIR_AND_FURNITURE: f64 = 10e3;

/// What a space asks for in one case, its heat losses by kelvin at the ends of what is stated.
#[derive(Clone, Copy, Debug)]
pub struct Demand {
    /// Outside temperature, K.
    pub outside: f64,
    /// Through the surfaces, W/K.
    pub through: Interval,
    /// By leaks, W/K.
    pub leaks: Interval,
    /// By fresh air that the heater draws, W/K.
    pub fresh: f64,
    /// Given by people, W.
    pub people: f64,
    /// What it asks for, W; none where it is warm enough by itself.
    pub total: Interval,
}

impl Demand {
    /// Heat lost by kelvin at an end of what is stated, W/K.
    pub fn loss(&self, end: fn(&Interval) -> f64) -> f64 {
        end(&self.through) + end(&self.leaks) + self.fresh
    }

    /// Of that, what leaves a room's air without crossing what stores, W/K.
    fn light_loss(&self, room: &Room, end: fn(&Interval) -> f64) -> f64 {
        end(&room.light) + end(&self.leaks) + self.fresh
    }
}

/// The spaces that one heater, or several together, keep warm.
#[derive(Clone, Debug)]
pub struct Room {
    /// The header of its first space.
    pub subject: Place,
    /// The spaces' numbers.
    pub spaces: Vec<usize>,
    /// The heaters' numbers.
    pub heaters: Vec<usize>,
    /// The set-point, K.
    pub set: f64,
    /// Where it is written; `None` where the usual one is taken.
    pub set_place: Option<Place>,
    /// The unit to show temperatures in.
    pub unit: &'static Unit,
    /// On the coldest night.
    pub cold: Demand,
    /// Whether the job states the design cold.
    pub cold_stated: bool,
    /// On the mild night, where the job states one.
    pub mild: Option<Demand>,
    /// Lowest and highest output of its heaters together, W.
    pub output: Option<[f64; 2]>,
    /// Heat stored by kelvin, J/K.
    pub store: f64,
    /// Of that, what the surfaces' inner layers, the air, and contents or furniture store, J/K.
    pub stores: [f64; 3],
    /// Of it, what warms with the air: the air itself, furniture, and contents up to as much as furniture, J/K.
    pub air_store: f64,
    /// Of the heat through the surfaces, what passes panes and what else stores nothing, W/K.
    pub light: Interval,
    /// Heat from the air into the inner layers that store, through the air layer before them, W/K.
    pub film: Interval,
    /// U-value and area of each surface, W/m²K and m², as stated.
    pub skin: Vec<[f64; 2]>,
    /// How cold it is when the heater is started, K, and whether that is stated.
    pub start: (f64, bool),
    /// Time to the set-point on the coldest night at full output, s; `None` where it never gets there.
    pub warm_up: Option<f64>,
    /// Whether all its surfaces and its leaks are stated: else it asks for more than is computed.
    pub complete: bool,
    /// Whether the usual air changes are taken for a space.
    pub usual_changes: bool,
}

/// A part of a space's skin that ought to be stated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Skin {
    /// Its floor.
    Floor,
    /// Its roof.
    Roof,
    /// The panes of a window that the job states.
    Glass,
}

impl Skin {
    /// In words.
    pub const fn word(self) -> &'static str {
        match self {
            Skin::Floor => "floor",
            Skin::Roof => "roof",
            Skin::Glass => "glass",
        }
    }
}

/// Which way heat leaves through a surface: up by a roof, down by a floor, else sideways.
pub fn direction_of(surface: &Surface) -> HeatDirection {
    match surface.part {
        Some("floor") => HeatDirection::Downwards,
        Some("roof") => HeatDirection::Upwards,
        _ => HeatDirection::Horizontal,
    }
}

/// Whether every line of a space was understood: else what is missing may stand in one that was not.
pub fn wholly_read(job: &Job, space: &Space) -> bool {
    let Some(reading) = job.reading(space.header.file) else { return false };
    reading.at(space.header.span.start).0.is_some_and(|block| {
        reading.statements(block).iter().all(|statement| statement.whole && statement.word.is_some())
    })
}

/// What a space that states surfaces does not state of its skin.
pub fn skin_missing(job: &Job, number: usize) -> Vec<Skin> {
    let space = job.spaces.get(number).filter(|space| !space.surfaces.is_empty() && wholly_read(job, space));
    let Some(space) = space else { return Vec::new() };
    let states = |part: &str| space.surfaces.iter().any(|surface| surface.part == Some(part));
    let all_round = states("all");
    let of_glass = states("glass") || space.surfaces.iter().any(|surface| surface.layers.iter().any(is_clear));
    let window =
        job.openings.iter().any(|opening| opening.into == Some(number) && opening.kind.get() == Some(&"window"));
    let mut missing = Vec::new();
    if !states("floor") && !all_round {
        missing.push(Skin::Floor);
    }
    if !states("roof") && !all_round {
        missing.push(Skin::Roof);
    }
    if window && !of_glass {
        missing.push(Skin::Glass);
    }
    missing
}

fn is_clear(layer: &Layer) -> bool {
    materials::find(&layer.0).is_some_and(|material| material.clear)
}

/// The layers' materials that the table does not know, in a space's surfaces and ribs, each with its statement.
pub fn unknown_materials(space: &Space) -> impl Iterator<Item = (&str, Place)> {
    let surfaces = space.surfaces.iter().map(|surface| (&surface.layers, surface.place));
    let ribs = space.ribs.iter().map(|ribs| (&ribs.layers, ribs.place));
    surfaces.chain(ribs).flat_map(|(layers, place)| {
        layers.iter().filter(|(word, _)| materials::find(word).is_none()).map(move |(word, _)| (word.as_str(), place))
    })
}

pub(super) fn compute(job: &Job, figures: &mut Figures) {
    if job.header.is_none() {
        return;
    }
    for (spaces, heaters) in groups(job) {
        let Some(first) = spaces.first().and_then(|space| job.spaces.get(*space)) else { continue };
        let subject = first.header;
        match room(job, figures, subject, spaces, heaters) {
            Ok(room) => {
                list(job, &room, figures);
                figures.rooms.push(room);
            }
            Err(because) => figures.missing.push(Unjudged {
                section: Section::Heat,
                subject,
                title: format!("heat that {} needs", first.name),
                because,
            }),
        }
    }
}

/// Spaces that share heaters, and those heaters.
fn groups(job: &Job) -> Vec<(Vec<usize>, Vec<usize>)> {
    let mut groups: Vec<(Vec<usize>, Vec<usize>)> = Vec::new();
    for heater in 0..job.heaters.len() {
        let mut spaces = heated_spaces(job, heater);
        if spaces.is_empty() {
            continue;
        }
        let mut heaters = vec![heater];
        groups.retain(|(others, theirs)| {
            let apart = !others.iter().any(|space| spaces.contains(space));
            if !apart {
                spaces.extend(others);
                heaters.extend(theirs);
            }
            apart
        });
        spaces.sort_unstable();
        spaces.dedup();
        heaters.sort_unstable();
        groups.push((spaces, heaters));
    }
    groups
}

fn room(
    job: &Job,
    figures: &mut Figures,
    subject: Place,
    spaces: Vec<usize>,
    heaters: Vec<usize>,
) -> Result<Room, String> {
    if let Some(heater) =
        heaters.iter().find(|heater| !warms_air(job, **heater)).and_then(|heater| job.heaters.get(*heater))
    {
        return Err(format!("{} warms coolant, and the engine takes a share of that heat", heater.name));
    }
    let conditions = &job.conditions;
    let cold_stated = conditions.design_cold.get().is_some();
    let outside = conditions.design_cold.get().map_or(Temperature::celsius(DEFAULT_COLD).in_kelvin(), |cold| cold.low);
    let wanted = spaces.iter().filter_map(|space| job.spaces.get(*space)).find_map(|space| space.wanted.fact());
    let set = wanted.map_or(USUAL_SET_POINT.in_kelvin(), |wanted| wanted.value.nominal);
    let unit = unit_or(wanted.map(|wanted| wanted.value.unit), "°C");
    let fresh = fresh_air(job, figures, &heaters, set);

    let mut room = Room {
        subject,
        set,
        set_place: wanted.map(|wanted| wanted.written),
        unit,
        cold: Demand {
            outside,
            through: Interval::exact(0.0),
            leaks: Interval::exact(0.0),
            fresh,
            people: 0.0,
            total: Interval::exact(0.0),
        },
        cold_stated,
        mild: None,
        output: output(job, &heaters),
        store: 0.0,
        stores: [0.0; 3],
        air_store: 0.0,
        light: Interval::exact(0.0),
        film: Interval::exact(0.0),
        skin: Vec::new(),
        start: (outside, false),
        warm_up: None,
        complete: true,
        usual_changes: false,
        spaces,
        heaters,
    };
    // People may be out on the coldest night; on the mild one they make a large heater larger still.
    let mut mild = conditions.mild_night.get().map(|mild| Demand { outside: mild.nominal, ..room.cold });
    for number in room.spaces.clone() {
        let Some(space) = job.spaces.get(number) else { continue };
        if space.surfaces.is_empty() {
            return Err(format!(
                "the job states no surface of {}: write `surface walls, 14 m², plywood 4 mm, …`",
                space.name
            ));
        }
        let missing = skin_missing(job, number);
        room.complete &= missing.is_empty() && wholly_read(job, space);
        let shell = surfaces(space, figures, &mut room.skin)?;
        room.cold.through = room.cold.through.plus(shell.through);
        room.light = room.light.plus(shell.light);
        room.film = room.film.plus(shell.film);
        let changes = space.air_changes.get();
        room.usual_changes |= changes.is_none();
        if let Some(volume) = space.volume.get() {
            let leaks = |outside: f64| leaks(job, space, volume, changes, set, outside);
            room.cold.leaks = room.cold.leaks.plus(leaks(room.cold.outside));
            if let Some(mild) = &mut mild {
                mild.leaks = mild.leaks.plus(leaks(mild.outside));
            }
        } else {
            room.complete = false;
            figures.missing.push(Unjudged {
                section: Section::Heat,
                subject: space.header,
                title: format!("heat that the leaks of {} take", space.name),
                because: "the job states no volume: write `volume 9 m³`".to_string(),
            });
        }
        if let Some(mild) = &mut mild {
            let people = f64::from(space.people.get().copied().unwrap_or(0));
            mild.people += (HEAT_OF_A_PERSON * people).in_watts();
        }
        let air = space.volume.get().map_or(0.0, |volume| {
            stored_by_air(Volume::cubic_metres(volume.nominal), air_of(job, set)).in_joules_per_kelvin()
        });
        let floors = space.surfaces.iter().filter(|surface| direction_of(surface) == HeatDirection::Downwards);
        let floor: f64 = floors.map(|surface| surface.area.value.nominal).sum();
        let furniture = (floor * AIR_AND_FURNITURE - air).max(0.0);
        let contents = space.contents.get().map_or(furniture, |contents| contents.nominal * SPECIFIC_HEAT_OF_CONTENTS);
        let [of_layers, of_air, of_contents] = room.stores;
        room.stores = [of_layers + shell.store, of_air + air, of_contents + contents];
        room.air_store += air + contents.min(furniture);
        if let Some(start) = space.starts_at.get() {
            room.start = if room.start.1 { (room.start.0.min(start.low), true) } else { (start.low, true) };
        }
    }
    room.store = room.stores.iter().sum();
    if room.air_store <= 0.0 || room.film.low <= 0.0 {
        // Nothing is behind a surface, or nothing before it: all is one store.
        room.air_store = room.store;
    }
    let settled = |mut demand: Demand| {
        let at = |end: fn(&Interval) -> f64| (demand.loss(end) * (set - demand.outside) - demand.people).max(0.0);
        demand.total = Interval { low: at(|of| of.low), nominal: at(|of| of.nominal), high: at(|of| of.high) };
        demand
    };
    room.cold = settled(room.cold);
    room.mild = mild.map(|mild| settled(Demand { through: room.cold.through, ..mild }));
    room.warm_up = room.output.and_then(|[_, highest]| {
        let nodes = room.nodes(&room.cold, room.start.0, |of| of.high);
        warm_up(&nodes, Power::watts(highest)).map(|time| time.in_seconds())
    });
    if room.output.is_none() {
        let heater = room.heaters.first().and_then(|heater| job.heaters.get(*heater));
        figures.missing.push(Unjudged {
            section: Section::Heat,
            subject: heater.map_or(room.subject, |heater| heater.header),
            title: format!("whether the heat is enough for {}", room.name(job)),
            because: "the heater's data sheet states no output: write `output 0.9 kW .. 2.4 kW`".to_string(),
        });
    }
    Ok(room)
}

impl Room {
    /// The spaces by name.
    pub fn name(&self, job: &Job) -> String {
        let names: Vec<&str> =
            self.spaces.iter().filter_map(|space| job.spaces.get(*space)).map(|space| space.name.as_str()).collect();
        names.join(" and ")
    }

    /// Its air and its mass on a night, from a start in K, at an end of what is stated of its losses.
    pub fn nodes(&self, demand: &Demand, start: f64, end: fn(&Interval) -> f64) -> night::Room {
        let loss = HeatLossCoefficient::watts_per_kelvin;
        night::Room {
            loss: loss(demand.loss(end)),
            light_loss: loss(demand.light_loss(self, end)),
            film: loss(end(&self.film)),
            air_store: HeatCapacity::joules_per_kelvin(self.air_store),
            mass_store: HeatCapacity::joules_per_kelvin(self.store - self.air_store),
            people: Power::watts(demand.people),
            outside: Temperature::kelvin(demand.outside),
            start: Temperature::kelvin(start),
            set: Temperature::kelvin(self.set),
        }
    }
}

/// Lowest and highest output of heaters together.
fn output(job: &Job, heaters: &[usize]) -> Option<[f64; 2]> {
    let mut lowest = f64::INFINITY;
    let mut highest = 0.0;
    for heater in heaters {
        let output = job.sheet_of(*heater)?.output.get()?;
        // One of several can be left off: together they go no lower than the smallest of them alone.
        lowest = f64::min(lowest, output.low);
        highest += output.high;
    }
    (highest > 0.0).then_some([lowest, highest])
}

/// Density of the air of a room where the vehicle is lowest: the heaviest, and so the most heat.
fn air_of(job: &Job, temperature: f64) -> Density {
    let altitude = job.conditions.altitude.get().map_or(0.0, |altitude| altitude.low);
    density_at(Length::metres(altitude), Temperature::kelvin(temperature))
}

/// Heat by kelvin that the fresh air takes that a heater draws from outside, W/K.
fn fresh_air(job: &Job, figures: &Figures, heaters: &[usize], set: f64) -> f64 {
    let from_outside =
        figures.returns.iter().filter(|found| found.from == DrawnFrom::Outside && heaters.contains(&found.heater));
    let flows = from_outside.filter_map(|found| job.sheet_of(found.heater).and_then(|sheet| sheet.fan_flow.get()));
    let flow: f64 = flows.map(|flow| flow.high).sum();
    infiltration_loss(VolumeFlow::cubic_metres_per_second(flow), air_of(job, set)).in_watts_per_kelvin()
}

/// Heat by kelvin that the leaks of a space take, W/K.
fn leaks(job: &Job, space: &Space, volume: &Quantity, changes: Option<&Quantity>, set: f64, outside: f64) -> Interval {
    let counted = if space.changes_counted.get() == Some(&"outside") { outside } else { set };
    let density = air_of(job, counted);
    // The unit `/h` is kept as times a second.
    let changes = changes.map_or(Interval::exact(USUAL_AIR_CHANGES / 3600.0), |changes| Interval::from(*changes));
    let at = |volume: f64, changes: f64| {
        let flow = air_change_flow(Volume::cubic_metres(volume.max(0.0)), (changes * 3600.0).max(0.0));
        infiltration_loss(flow, density).in_watts_per_kelvin()
    };
    Interval {
        low: at(volume.low, changes.low),
        nominal: at(volume.nominal, changes.nominal),
        high: at(volume.high, changes.high),
    }
}

/// The layers with their materials, their thickness at one end of what is stated.
fn layers_of(layers: &[Layer], end: fn(&Quantity) -> f64) -> Result<Vec<(Length, &'static Material)>, String> {
    layers
        .iter()
        .map(|(word, thickness)| {
            let material = materials::find(word).ok_or_else(|| format!("material `{word}` is not in the table"))?;
            Ok((Length::metres(end(thickness).max(0.0)), material))
        })
        .collect()
}

fn value_of(layers: &[(Length, &Material)], direction: HeatDirection) -> f64 {
    let layers: Vec<(Length, ThermalConductivity)> =
        layers.iter().map(|(thickness, material)| (*thickness, material.conductivity)).collect();
    transmittance(&layers, inner_surface_resistance(direction), OUTER_SURFACE_RESISTANCE)
        .map_or(0.0, |value| value.in_watts_per_square_metre_kelvin())
}

/// What the surfaces of a space come to.
struct Shell {
    /// Heat by kelvin through all of them, W/K.
    through: Interval,
    /// Of that, through panes and what else stores nothing, W/K.
    light: Interval,
    /// Heat by kelvin through the air layer before the others, W/K.
    film: Interval,
    /// What they store by kelvin, J/K.
    store: f64,
}

/// Heat by kelvin through the surfaces of a space, and what they store by kelvin; each is put into the list.
fn surfaces(space: &Space, figures: &mut Figures, skin: &mut Vec<[f64; 2]>) -> Result<Shell, String> {
    let nothing = Interval::exact(0.0);
    let mut shell = Shell { through: nothing, light: nothing, film: nothing, store: 0.0 };
    for surface in &space.surfaces {
        if surface.layers.is_empty() {
            return Err(format!("surface {} states no layers: write `{0}, 14 m², plywood 4 mm, …`", surface.label));
        }
        let direction = direction_of(surface);
        let nominal = layers_of(&surface.layers, |thickness| thickness.nominal)?;
        let panel = value_of(&nominal, direction);
        // Thin layers let the most through.
        let certain = surface.layers.iter().all(|(_, thickness)| thickness.low == thickness.high);
        let (least, most) = if certain {
            (panel, panel)
        } else {
            (
                value_of(&layers_of(&surface.layers, |thickness| thickness.high)?, direction),
                value_of(&layers_of(&surface.layers, |thickness| thickness.low)?, direction),
            )
        };
        let mut whole = Interval { low: least, nominal: panel, high: most };
        let mut steps = vec![panel_step(&nominal, direction, panel)];
        for ribs in space.ribs.iter().filter(|ribs| ribs.of == surface.label) {
            let layers = layers_of(&ribs.layers, |thickness| thickness.nominal)?;
            let rib = value_of(&layers, direction);
            let at = |value: f64, share: f64| {
                let unit = crate::units::ThermalTransmittance::watts_per_square_metre_kelvin;
                bridged_transmittance(unit(value), unit(rib), share).in_watts_per_square_metre_kelvin()
            };
            whole = Interval {
                low: at(whole.low, ribs.share.low),
                nominal: at(whole.nominal, ribs.share.nominal),
                high: at(whole.high, ribs.share.high),
            };
            steps.push(panel_step(&layers, direction, rib));
            steps.push(Step {
                what: "with its ribs, side by side",
                formula: "U = (1 − f) · U_panel + f · U_rib",
                inputs: vec![
                    input("f", ribs.share.nominal, "%"),
                    input("U_panel", panel, "W/m²K"),
                    input("U_rib", rib, "W/m²K"),
                ],
                result: whole.nominal,
                unit: "W/m²K",
                source: "ISO 6946:2017 6.7.2.3, upper limit of resistance",
            });
        }
        let area = surface.area.value;
        let stored = stored_by_layers(&nominal, Area::square_metres(area.nominal)).in_joules_per_kelvin();
        skin.push([whole.nominal, area.nominal]);
        let over_area = |value: Interval| Interval {
            low: value.low * area.low.max(0.0),
            nominal: value.nominal * area.nominal.max(0.0),
            high: value.high * area.high.max(0.0),
        };
        let passes = over_area(whole);
        shell.through = shell.through.plus(passes);
        if stored > 0.0 && !surface.layers.iter().all(is_clear) {
            let film = 1.0 / inner_surface_resistance(direction).in_square_metre_kelvin_per_watt();
            shell.film = shell.film.plus(over_area(Interval::exact(film)));
            shell.store += stored;
        } else {
            shell.light = shell.light.plus(passes);
        }
        figures.list.push(|| transmittance_figure(space, surface, whole.nominal, steps));
    }
    Ok(shell)
}

fn panel_step(layers: &[(Length, &'static Material)], direction: HeatDirection, value: f64) -> Step {
    let mut inputs = Vec::with_capacity(2 + 2 * layers.len());
    inputs.push(input("R_si, m²K/W", inner_surface_resistance(direction).in_square_metre_kelvin_per_watt(), ""));
    inputs.push(input("R_se, m²K/W", OUTER_SURFACE_RESISTANCE.in_square_metre_kelvin_per_watt(), ""));
    let mut source = "ISO 6946:2017 eq. 4; conductivity by ISO 10456:2007 table 3";
    for (thickness, material) in layers {
        inputs.push(input("d", thickness.in_metres(), "mm"));
        let name = material.words.first().copied().unwrap_or("λ");
        inputs.push(input(name, material.conductivity.in_watts_per_metre_kelvin(), "W/mK"));
        if !material.source.contains("10456") {
            source =
                "ISO 6946:2017 eq. 4; conductivity by ISO 10456:2007 table 3, of foams and wools as usually declared";
        }
    }
    Step {
        what: "heat through a square metre for each kelvin, layers from inside to outside",
        formula: "U = 1 / (R_si + Σ d / λ + R_se)",
        inputs,
        result: value,
        unit: "W/m²K",
        source,
    }
}

fn transmittance_figure(space: &Space, surface: &Surface, value: f64, working: Vec<Step>) -> Figure {
    Figure {
        name: "transmittance",
        section: Section::Heat,
        subject: space.header,
        title: format!("U-value of {} of {}", surface.label, space.name),
        case: "",
        value,
        unit: unit_or(None, "W/m²K"),
        rests_on: vec![surface.place],
        working,
    }
}

fn list(job: &Job, room: &Room, figures: &mut Figures) {
    if !figures.list.is_kept() {
        return;
    }
    let subject = room.subject;
    let name = room.name(job);
    let mut rests_on: Vec<Place> = room.set_place.into_iter().collect();
    for space in room.spaces.iter().filter_map(|space| job.spaces.get(*space)) {
        rests_on.extend(space.surfaces.iter().map(|surface| surface.place));
        rests_on.extend(space.volume.place());
        rests_on.extend(space.air_changes.place());
    }
    let cases = [("design cold", Some(&room.cold)), ("mild night", room.mild.as_ref())];
    for (case, demand) in cases {
        let Some(demand) = demand else { continue };
        // On the cold night the most that what is stated may ask for; on the mild one the least.
        let end: fn(&Interval) -> f64 = if case == "design cold" { |of| of.high } else { |of| of.low };
        figures.list.push(|| Figure {
            name: "heat_demand",
            section: Section::Heat,
            subject,
            title: format!("heat that {name} needs"),
            case,
            value: end(&demand.total),
            unit: unit_or(None, "kW"),
            rests_on: rests_on.clone(),
            working: demand_steps(job, room, demand, end, case),
        });
    }
    if let (Some(time), Some([_, highest])) = (room.warm_up, room.output) {
        figures.list.push(|| Figure {
            name: "warm_up_time",
            section: Section::Heat,
            subject,
            title: format!("time until {name} is warm"),
            case: "design cold",
            value: time,
            unit: unit_or(None, if time < 5400.0 { "min" } else { "h" }),
            rests_on,
            working: vec![
                Step {
                    what: "heat stored for each kelvin: inner layers up to the insulation, air, and contents; where \
                           no contents are stated, furniture by the floor's area",
                    formula: "C = Σ A · d · ρ · c + ρ_air · V · c_air + C_contents",
                    inputs: ["layers, kJ/K", "air, kJ/K", "contents, kJ/K"]
                        .into_iter()
                        .zip(room.stores)
                        .map(|(symbol, store)| input(symbol, store / 1e3, ""))
                        .collect(),
                    result: room.store / 1e3,
                    unit: "kJ/K",
                    source: "ISO 13786:2017 annex C, effective thickness for a day (from memory); contents 1 kJ/(kg·K), common practice, no source",
                },
                Step {
                    what: "the part that warms with the air: the air itself, furniture, and contents up to as much as \
                           furniture; the rest is the mass",
                    formula: "C_air = ρ_air · V · c_air + min(C_contents, 10 kJ/(m²·K) · A_floor − ρ_air · V · c_air); C_mass = C − C_air",
                    inputs: vec![
                        input("C, kJ/K", room.store / 1e3, ""),
                        input("C_mass, kJ/K", (room.store - room.air_store) / 1e3, ""),
                    ],
                    result: room.air_store / 1e3,
                    unit: "kJ/K",
                    source: "air and furniture 10 kJ/(m²·K), ISO 52016-1:2017 table B.17 (from memory)",
                },
                Step {
                    what: "time at full output until the air is at the set-point, with nobody inside",
                    formula: "C_air · dT/dt = P − H_light · (T − T_outside) − K · (T − T_mass); C_mass · dT_mass/dt = K · (T − T_mass) − H_mass · (T_mass − T_outside); H_mass = 1 / (1 / (H − H_light) − 1 / K)",
                    inputs: vec![
                        input("H, W/K", room.cold.loss(|of| of.high), ""),
                        input("H_light: leaks, fresh air, panes, W/K", room.cold.light_loss(room, |of| of.high), ""),
                        input("K: Σ A / R_si, W/K", room.film.high, ""),
                        input("P", highest, "kW"),
                        input(
                            if room.start.1 { "T_0, both" } else { "T_0, both (not stated, taken as outside)" },
                            room.start.0,
                            room.unit.spelling,
                        ),
                        input("set", room.set, room.unit.spelling),
                        input("T_outside", room.cold.outside, room.unit.spelling),
                    ],
                    result: time,
                    unit: "min",
                    source: "heat balance of two nodes (after ISO 13790:2008 annex C, from memory; R_si of ISO 6946:2017 table 7), in closed form",
                },
            ],
        });
    }
    if room.mild.is_none() {
        figures.missing.push(Unjudged {
            section: Section::Heat,
            subject,
            title: format!("heat that {name} needs on a mild night"),
            because: "the job states no mild night: write `mild-night 5 °C`".to_string(),
        });
    }
}

fn demand_steps(job: &Job, room: &Room, demand: &Demand, end: fn(&Interval) -> f64, case: &str) -> Vec<Step> {
    let mut steps = Vec::with_capacity(4);
    steps.push(Step {
        what: "heat through the surfaces for each kelvin",
        formula: "H_through = Σ U · A",
        inputs: room
            .skin
            .iter()
            .flat_map(|[value, area]| [input("U", *value, "W/m²K"), input("A", *area, "m²")])
            .collect(),
        result: end(&demand.through),
        unit: "W/K",
        source: "EN 12831-1 (from memory)",
    });
    for space in room.spaces.iter().filter_map(|space| job.spaces.get(*space)) {
        let Some(volume) = space.volume.get() else { continue };
        let outside = space.changes_counted.get() == Some(&"outside");
        let counted = if outside { demand.outside } else { room.set };
        let changes = space.air_changes.get();
        let interval = leaks(job, space, volume, changes, room.set, demand.outside);
        let changes_symbol = if changes.is_some() { "n" } else { "n (not stated, taken)" };
        steps.push(Step {
            what: if outside {
                "heat that leaks take for each kelvin, counted as air from outside"
            } else {
                "heat that leaks take for each kelvin, counted as room air"
            },
            formula: "H_leaks = n · V · ρ · c",
            inputs: vec![
                input(changes_symbol, changes.map_or(USUAL_AIR_CHANGES / 3600.0, |changes| changes.nominal), "/h"),
                input("V", volume.nominal, "m³"),
                input("ρ", air_of(job, counted).in_kilograms_per_cubic_metre(), "kg/m³"),
                input("c, J/(kg·K)", SPECIFIC_HEAT_OF_AIR, ""),
            ],
            result: end(&interval),
            unit: "W/K",
            source: "EN 12831-1 with the real density: 0.34 Wh/(m³·K) is air at 20 °C and sea level",
        });
    }
    if demand.fresh > 0.0 {
        steps.push(Step {
            what: "heat for each kelvin of the fresh air that the fan draws from outside",
            formula: "H_fresh = V_fan · ρ · c",
            inputs: vec![input("ρ", air_of(job, room.set).in_kilograms_per_cubic_metre(), "kg/m³")],
            result: demand.fresh,
            unit: "W/K",
            source: "energy balance; flow of the data sheet's `fan` without duct",
        });
    }
    let cold = case == "design cold";
    steps.push(Step {
        what: match (cold, demand.people > 0.0) {
            (true, _) => "heat that it needs; people are not counted, because they may be out",
            (false, true) => "heat that it needs; each person gives 70 W",
            (false, false) => "heat that it needs",
        },
        formula: "Q = (H_through + H_leaks + H_fresh) · (set − T_outside) − Q_people",
        inputs: vec![
            input(
                if room.set_place.is_some() { "set" } else { "set (not stated, taken)" },
                room.set,
                room.unit.spelling,
            ),
            input(
                if cold && !room.cold_stated { "T_outside (not stated, taken)" } else { "T_outside" },
                demand.outside,
                room.unit.spelling,
            ),
            input("Q_people", demand.people, "W"),
        ],
        result: end(&demand.total),
        unit: "kW",
        source: "EN 12831-1 (from memory)",
    });
    steps
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::judge_example;

    const SHELL: &str = "space cabin\n  use seated\n  wanted 18 °C\n  volume 7.5 m³\n  surface roof, 5 m², plywood 4 mm, xps 30 mm, steel 0.9 mm\n  \
                         surface floor, 5 m², plywood 18 mm, xps 20 mm, steel 1.2 mm\n";

    fn room(example: &str) -> Room {
        judge_example(example).figures.rooms.first().cloned().expect("a room")
    }

    /// Source: ISO 6946 by hand: 1 / (0.10 + 0.004/0.13 + 0.030/0.034 + 0.0009/50 + 0.04) = 0.9494, floor 1 / (0.17 + 0.018/0.13 +
    /// 0.020/0.034 + 0.04) = 1.0679, walls of 4 mm glass 1 / 0.174 = 5.7471; leaks 0.34 Wh/(m³·K) of EN 12831-1, rounded: 1 %.
    #[test]
    fn a_cabin_asks_for_what_a_hand_calculation_says() {
        let room = room(&format!("{SHELL}  surface walls, 2 m², glass 4 mm\n  air-changes 2 /h"));
        let through = 5.0 * 0.9494 + 5.0 * 1.0679 + 2.0 * 5.7471;
        assert!((room.cold.through.nominal / through - 1.0).abs() < 1e-3, "{}", room.cold.through.nominal);
        let leaks = 2.0 * 7.5 * 0.34;
        assert!((room.cold.leaks.nominal / leaks - 1.0).abs() < 0.01, "{}", room.cold.leaks.nominal);
        let demand = (through + leaks) * 33.0;
        assert!((room.cold.total.nominal / demand - 1.0).abs() < 5e-3, "{}", room.cold.total.nominal);
    }

    #[test]
    fn ribs_doubt_and_the_side_that_is_counted_ask_for_more() {
        let walls = "  surface walls, 13 m², plywood 4 mm, xps 30 mm, steel 0.9 mm\n";
        let plain = room(&format!("{SHELL}{walls}  air-changes 1 /h"));
        let ribbed = room(&format!(
            "{SHELL}{walls}  ribs walls, 5 %, plywood 4 mm, pine 30 mm, steel 0.9 mm\n  air-changes 1 /h"
        ));
        let outside = room(&format!("{SHELL}{walls}  air-changes 1 /h, counted outside"));
        let doubt = room(&format!(
            "{SHELL}  surface walls, 13 m², plywood 4 mm, xps 30 mm ± 5 mm, steel 0.9 mm\n  air-changes 1 /h"
        ));
        assert!(ribbed.cold.through.nominal > plain.cold.through.nominal);
        // The same number of changes of heavier air: by the absolute temperatures, 291.15 K to 258.15 K.
        let ratio = outside.cold.leaks.nominal / plain.cold.leaks.nominal;
        assert!((ratio - 291.15 / 258.15).abs() < 1e-9, "{ratio}");
        assert!(doubt.cold.total.low < plain.cold.total.nominal && plain.cold.total.nominal < doubt.cold.total.high);
    }

    #[test]
    fn fresh_air_and_people_are_counted_where_they_make_it_worse() {
        let fresh = room("return-air of reader\n  draws from outside");
        // 105 m³/h of 0.34 Wh/(m³·K), rounded.
        assert!((fresh.cold.fresh / (105.0 * 0.34) - 1.0).abs() < 0.02, "{}", fresh.cold.fresh);
        let people =
            room(&format!("{SHELL}  surface walls, 13 m², plywood 4 mm, xps 30 mm\n  people 2\n  air-changes 1 /h"));
        let mild = people.mild.expect("the bench has a mild night");
        assert!(mild.people == 140.0 && people.cold.people == 0.0);
    }

    #[test]
    fn surfaces_lose_heat_the_way_their_words_say() {
        let job = judge_example("space cabin\n  surface roof, 5 m², steel 1 mm\n  surface lid, 1 m², steel 1 mm, as roof\n  surface floor, 5 m², steel 1 mm\n  surface walls, 13 m², steel 1 mm\n  surface roof-lining, 1 m², steel 1 mm").job;
        let directions: Vec<HeatDirection> = job.spaces[0].surfaces.iter().map(direction_of).collect();
        use HeatDirection::{Downwards, Horizontal, Upwards};
        assert_eq!(directions, [Upwards, Upwards, Downwards, Horizontal, Horizontal]);
        let broken = judge_example(&format!("{SHELL}  surfce walls, 13 m², plywood 4 mm\n  air-changes 1 /h"));
        // A wall may stand in the line that nobody could read: the room is no longer complete.
        assert!(broken.figures.rooms.iter().all(|room| !room.complete));
    }
}
