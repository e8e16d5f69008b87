//! The sheet: two views of each body to one scale, a scale bar, the list of runs, what is not drawn, the findings and
//! the caution. How a job becomes things and legs is the scene's business.

use super::labels::{Rect, Room};
use super::scene::{Body, Found, Line, Mark, Scene, Thing, written};
use super::svg::{FAINT, INK, Look, PAPER, look_of, number, shortened, style, text, width_of};
use super::view::{From, View, extent};
use super::{Drawing, Element, NARROWEST, USUAL, WIDEST, Wanted};
use crate::analysis::Analysis;
use crate::finding::{Finding, Severity};
use crate::model::Job;
use crate::physics::geometry::{AlignedBox, Point, Vector};
use crate::report::{CAUTION, Locator, wrap};
use crate::source::Place;
use crate::units::find_unit;

/// What stays free at its edges.
const MARGIN: f64 = 24.0;
/// What stays free around a body for words.
const AROUND: f64 = 56.0;
/// The most height that both views of a body take together, against the sheet's width.
const TALLEST: f64 = 0.85;
/// The largest scale: a metre is no longer than this.
const LARGEST: f64 = 420.0;
/// Letters.
const SIZE: f64 = 12.0;
/// From line to line of a list.
const STEP: f64 = 17.0;
/// The longest name that is written whole beside its thing.
const LONGEST_LABEL: usize = 34;
/// The width of a letter of running text on average, with room to spare.
const LETTER: f64 = 6.7;

struct Sheet<'a> {
    analysis: &'a Analysis,
    at: Option<u32>,
    width: f64,
    out: String,
    elements: Vec<Element>,
    y: f64,
}

/// Draws a scene.
pub(super) fn draw(analysis: &Analysis, scene: &Scene<'_>, name: &str, wanted: &Wanted) -> Drawing {
    let at = wanted.at.and_then(|offset| smallest(analysis, scene, offset));
    let width = f64::from(wanted.width.unwrap_or(USUAL).clamp(NARROWEST, WIDEST));
    let mut sheet = Sheet { analysis, at, width, out: String::new(), elements: Vec::new(), y: MARGIN };
    sheet.head(name);
    for (number, body) in scene.bodies.iter().enumerate() {
        sheet.body(number, body, &scene.findings);
    }
    if scene.bodies.is_empty() {
        sheet.say("nothing is drawn, because no block of this job states where it is (`at`, with forward, back, left, right, up, down)", 0);
    }
    if !scene.bodies.is_empty() {
        sheet.say(SIGNS, 0);
    }
    sheet.runs(scene);
    sheet.absent(scene);
    sheet.findings(scene);
    sheet.foot();
    sheet.close(name)
}

/// The start of the smallest part of the text that is drawn and holds the offset.
fn smallest(analysis: &Analysis, scene: &Scene<'_>, offset: u32) -> Option<u32> {
    let lines = scene.bodies.iter().flat_map(|body| body.lines.iter());
    let of_lines = lines.flat_map(|line| {
        let legs = line.legs.iter().map(|leg| leg.place);
        let marks = line.marks.iter().map(|mark| mark.place);
        legs.chain(marks).chain([line.place])
    });
    let things = scene.bodies.iter().flat_map(|body| body.things.iter().map(|thing| thing.place));
    let places = of_lines.chain(things).map(|place| analysis.job.shown(place));
    let places = places.filter(|place| place.file == analysis.file && place.span.touches(offset));
    places.min_by_key(|place| place.span.len()).map(|place| place.span.start)
}

/// A text that starts at a point of its base line.
fn words(x: f64, y: f64, size: f64, raw: &str) -> String {
    styled_words(x, y, size, raw, "")
}

fn styled_words(x: f64, y: f64, size: f64, raw: &str, more: &str) -> String {
    let (x, y, size) = (number(x), number(y), number(size));
    format!("<text x=\"{x}\" y=\"{y}\" font-size=\"{size}\"{more}>{}</text>\n", text(raw))
}

fn straight((x1, y1): (f64, f64), (x2, y2): (f64, f64), more: &str) -> String {
    format!("<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\"{more}/>\n", number(x1), number(y1), number(x2), number(y2))
}

fn rectangle(rect: Rect, more: &str) -> String {
    format!(
        "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"{more}/>\n",
        number(rect.x),
        number(rect.y),
        number(rect.width.max(0.0)),
        number(rect.height.max(0.0))
    )
}

/// A closed outline. Unlike a rectangle it is drawn, too, where it is seen on edge and has no height or no width.
fn outline(rect: Rect, more: &str) -> String {
    let (left, top) = (number(rect.x), number(rect.y));
    let (right, bottom) = (number(rect.x + rect.width), number(rect.y + rect.height));
    format!("<path d=\"M{left} {top}H{right}V{bottom}H{left}Z\"{more}/>\n")
}

fn circle((x, y): (f64, f64), radius: f64, more: &str) -> String {
    format!("<circle cx=\"{}\" cy=\"{}\" r=\"{}\"{more}/>\n", number(x), number(y), number(radius))
}

/// Stroke and fill of the sheet's own colours: as attributes for programs that know no variables, and as classes.
fn stroke(name: &str, colour: &str, width: f64) -> String {
    format!(" class=\"stroke-{name}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{}\"", number(width))
}

const SOLID_INK: &str = " class=\"fill-ink\" fill=\"#1c1c1c\"";
/// Paper in an ink outline, whose width is said where it is used.
const BODY: &str = " class=\"fill-paper stroke-ink\" fill=\"#ffffff\" stroke=\"#1c1c1c\"";
const SOLID_PAPER: &str = " class=\"fill-paper\" fill=\"#ffffff\"";

/// A length that is easy to read off: 1, 2 or 5 times a power of ten of a unit, and at most so many metres.
fn easy_length(job: &Job, most: f64) -> (f64, String) {
    let unit = job.length_unit("m");
    let largest = unit.from_si(most).max(1e-6);
    let power = 10f64.powf(largest.log10().floor());
    let count = [5.0, 2.0, 1.0].into_iter().map(|step| step * power).find(|count| *count <= largest).unwrap_or(power);
    let metres = unit.difference_to_si(count);
    let small = if unit.spelling == "m" && count < 1.0 { find_unit("mm") } else { None };
    (metres, small.unwrap_or(unit).show(metres))
}

impl Sheet<'_> {
    /// The start of an element that stands for a part of the text. `class` may hold several.
    fn element(&mut self, name: &str, class: &str, place: Place, more: &str) {
        let id = format!("e{}", self.elements.len());
        let place = self.analysis.job.shown(place);
        let own = place.file == self.analysis.file;
        let here = if own && self.at == Some(place.span.start) { " here" } else { "" };
        self.out.push_str(&format!("<{name} id=\"{id}\" class=\"{class}{here}\""));
        if own {
            self.out.push_str(&format!(" data-start=\"{}\" data-end=\"{}\"", place.span.start, place.span.end));
        }
        self.out.push_str(more);
        self.out.push('>');
        self.elements.push(Element { id, place });
    }

    fn title(&mut self, says: &str) {
        self.out.push_str(&format!("<title>{}</title>\n", text(&shortened(says, 240))));
    }

    fn head(&mut self, name: &str) {
        self.y += 16.0;
        let title = self.analysis.job.title.clone();
        let title = title.map_or(String::new(), |title| format!(": {title}"));
        let line = format!("drawing of {name}{title}");
        self.out.push_str(&words(MARGIN, self.y, 18.0, &shortened(&line, (self.width / 10.5) as usize)));
        self.y += 12.0;
    }

    /// The letters of a line of running text.
    fn letters(&self) -> usize {
        ((self.width - 2.0 * MARGIN) / LETTER) as usize
    }

    /// Lines of running text, so many letters shorter than the sheet allows.
    fn say(&mut self, raw: &str, less: usize) {
        for line in wrap(&shortened(raw, 1200), self.letters().saturating_sub(less), "", "  ").lines() {
            self.y += STEP;
            let indent = if line.starts_with("  ") { 14.0 } else { 0.0 };
            self.out.push_str(&words(MARGIN + indent, self.y, SIZE, line.trim_start()));
        }
    }

    fn heading(&mut self, raw: &str) {
        self.y += STEP + 10.0;
        self.out.push_str(&styled_words(MARGIN, self.y, 13.0, raw, " font-weight=\"bold\""));
        self.y += 2.0;
    }

    fn body(&mut self, number: usize, body: &Body, findings: &[&Finding]) {
        let Some(extent) = extent(body) else { return };
        if let Some(name) = &body.name {
            self.heading(&format!("{name}, which moves against the vehicle, in its own axes"));
        }
        let (low, high) = (extent.low(), extent.high());
        let wide = |low: f64, high: f64| (high - low).max(0.4);
        let (long, broad, tall) = (wide(low.x, high.x), wide(low.y, high.y), wide(low.z, high.z));
        let scale =
            ((self.width - 2.0 * (MARGIN + AROUND)) / long).min(TALLEST * self.width / (broad + tall)).min(LARGEST);
        let left = (self.width - scale * (high.x - low.x)) / 2.0;
        for (from, top, height) in [(From::Above, high.y, broad), (From::Right, high.z, tall)] {
            self.y += STEP + 6.0;
            let seen = match from {
                From::Above => "seen from above",
                From::Right => "seen from the right side",
            };
            self.out.push_str(&words(MARGIN, self.y, 13.0, seen));
            let frame = Rect {
                x: MARGIN,
                y: self.y + 6.0,
                width: self.width - 2.0 * MARGIN,
                height: scale * height + 2.0 * AROUND,
            };
            let rest =
                (scale * height - scale * (if from == From::Above { high.y - low.y } else { high.z - low.z })) / 2.0;
            let origin = (left - low.x * scale, frame.y + AROUND + rest + top * scale);
            let view = View { from, scale, origin, frame };
            self.view(number, body, &view, findings);
            self.y = frame.y + frame.height;
        }
        self.scale_bar(scale);
    }

    fn scale_bar(&mut self, scale: f64) {
        let (metres, says) = easy_length(&self.analysis.job, (260.0 / scale).max(1e-3));
        let (x, y) = (self.width - MARGIN - metres * scale - 70.0, self.y + 14.0);
        let end = x + metres * scale;
        let ink = stroke("ink", INK, 1.5);
        self.out.push_str("<g class=\"scale-bar\"><title>scale bar</title>\n");
        self.out.push_str(&straight((x, y), (end, y), &format!(" data-length=\"{metres}\"{ink}")));
        for at in [x, end] {
            self.out.push_str(&straight((at, y - 5.0), (at, y + 5.0), &ink));
        }
        self.out.push_str(&words(end + 8.0, y + 4.0, SIZE, &says));
        self.out.push_str("</g>\n");
        self.y += 22.0;
    }

    fn view(&mut self, body_number: usize, body: &Body, view: &View, findings: &[&Finding]) {
        let name = match view.from {
            From::Above => "above",
            From::Right => "right",
        };
        self.out.push_str(&format!(
            "<g class=\"view\" data-view=\"{name}\" data-body=\"{body_number}\" data-scale=\"{}\" data-origin=\"{} {}\">\n",
            view.scale,
            view.origin.0,
            view.origin.1
        ));
        self.out.push_str(&rectangle(view.frame, &stroke("faint", FAINT, 0.5)));
        let mut room = Room::new(view.frame);
        self.axes(view, &mut room);
        if view.from == From::Right {
            self.levels(body, view, &mut room);
        }
        let (big, small): (Vec<&Thing>, Vec<&Thing>) =
            body.things.iter().partition(|thing| matches!(thing.class, "outline" | "space"));
        let (bodies, others): (Vec<&Thing>, Vec<&Thing>) = small.into_iter().partition(|thing| thing.class == "heater");
        for thing in big.iter().chain(&others) {
            self.thing(thing, view, &mut room);
        }
        for line in &body.lines {
            self.doubts(line, view);
        }
        for thing in &bodies {
            self.thing(thing, view, &mut room);
        }
        for line in &body.lines {
            self.line(line, view, &mut room);
        }
        for line in &body.lines {
            for mark in &line.marks {
                self.mark(mark, look_of(line.kind), view, &mut room);
            }
        }
        // Words last, over everything, the weightiest first.
        for thing in &bodies {
            self.label_thing(thing, view, &mut room);
        }
        for line in &body.lines {
            self.label_line(line, view, &mut room);
        }
        for found in &body.found {
            self.found(found, findings, view, &mut room);
        }
        for thing in others.iter().chain(&big) {
            self.label_thing(thing, view, &mut room);
        }
        for mark in body.lines.iter().flat_map(|line| line.marks.iter()) {
            if !mark.label.is_empty() {
                self.label(&mark.label, 10.5, view.at(mark.point), mark.place, &mut room);
            }
        }
        self.out.push_str("</g>\n");
    }

    /// The words of the axes, in a corner, and the origin where it is in sight.
    fn axes(&mut self, view: &View, room: &mut Room) {
        let corner = (view.frame.x + 18.0, view.frame.y + view.frame.height - 14.0);
        let up = if view.from == From::Above { "left" } else { "up" };
        let ink = stroke("ink", INK, 1.2);
        self.out.push_str("<g class=\"axes\">\n");
        self.arrow(corner, (1.0, 0.0), 34.0, &ink, SOLID_INK);
        self.arrow(corner, (0.0, -1.0), 34.0, &ink, SOLID_INK);
        self.out.push_str(&words(corner.0 + 38.0, corner.1 + 4.0, 11.0, "forward"));
        self.out.push_str(&words(corner.0 - 8.0, corner.1 - 39.0, 11.0, up));
        self.out.push_str("</g>\n");
        room.take_word(Rect { x: corner.0 - 12.0, y: corner.1 - 52.0, width: 96.0, height: 60.0 });
        let (x, y) = view.origin;
        let frame = view.frame;
        let in_sight =
            (frame.x..=frame.x + frame.width).contains(&x) && (frame.y..=frame.y + frame.height).contains(&y);
        if in_sight {
            self.out.push_str("<g class=\"origin\"><title>the origin, where the axes meet</title>\n");
            let faint = stroke("faint", FAINT, 1.0);
            self.out.push_str(&straight((x - 9.0, y), (x + 9.0, y), &faint));
            self.out.push_str(&straight((x, y - 9.0), (x, y + 9.0), &faint));
            self.out.push_str(&circle((x, y), 4.0, &faint));
            self.out.push_str("</g>\n");
            let rect = room.place((x, y), width_of("origin", 10.0), 12.0);
            self.out.push_str(&words(rect.x, rect.y + 10.0, 10.0, "origin"));
        }
    }

    fn levels(&mut self, body: &Body, view: &View, room: &mut Room) {
        for (height, says, place) in &body.levels {
            let y = view.at(Point { x: 0.0, y: 0.0, z: *height }).1;
            let (from, to) = ((view.frame.x, y), (view.frame.x + view.frame.width, y));
            if y < view.frame.y || y > view.frame.y + view.frame.height {
                continue;
            }
            self.element("g", "level", *place, "");
            self.title(says);
            let dashes = format!("{} stroke-dasharray=\"18 6\"", stroke("faint", FAINT, 0.8));
            self.out.push_str(&straight(from, to, &dashes));
            self.out.push_str("</g>\n");
            let width = width_of(says, 10.5);
            let rect = room.place((to.0 - width / 2.0 - 6.0, y), width, 13.0);
            self.out.push_str(&words(rect.x, rect.y + 10.0, 10.5, says));
        }
    }

    /// An arrow of a length from a point; the way is of any length.
    fn arrow(&mut self, (x, y): (f64, f64), way: (f64, f64), length: f64, line: &str, head: &str) {
        let whole = way.0.hypot(way.1);
        if whole <= 0.0 {
            return;
        }
        let (across, down) = (way.0 / whole, way.1 / whole);
        let tip = (x + across * length, y + down * length);
        let neck = (tip.0 - across * 9.0, tip.1 - down * 9.0);
        self.out.push_str(&straight((x, y), neck, line));
        let corner =
            |side: f64| format!("{},{}", number(neck.0 - down * 4.0 * side), number(neck.1 + across * 4.0 * side));
        let points = format!("{},{} {} {}", number(tip.0), number(tip.1), corner(1.0), corner(-1.0));
        self.out.push_str(&format!("<polygon points=\"{points}\"{head}/>\n"));
    }

    fn doubt(&mut self, point: Point, doubt: Vector, view: &View) {
        let low = point.moved(doubt.times(-1.0));
        let rect = view.rect(AlignedBox::spanning(low, point.moved(doubt)));
        if rect.width < 1.0 && rect.height < 1.0 {
            return;
        }
        let look = " class=\"doubt stroke-faint fill-faint\" stroke-width=\"0.7\" stroke-dasharray=\"2 2\" fill-opacity=\"0.08\"";
        self.out.push_str(&rectangle(rect, &format!("{look} fill=\"{FAINT}\" stroke=\"{FAINT}\"")));
    }

    fn doubts(&mut self, line: &Line, view: &View) {
        for spot in &line.doubts {
            self.doubt(spot.point, spot.doubt, view);
        }
    }

    fn thing(&mut self, thing: &Thing, view: &View, room: &mut Room) {
        let rect = view.rect(thing.area);
        self.element("g", thing.class, thing.place, "");
        self.title(&thing.says);
        let (low, high) = (thing.area.low(), thing.area.high());
        let is_point = high.x - low.x < 1e-6 && high.y - low.y < 1e-6 && high.z - low.z < 1e-6;
        if !is_point {
            let doubt = thing.doubt;
            if doubt.length().in_metres() > 0.0 {
                let grown = AlignedBox::spanning(low.moved(doubt.times(-1.0)), high.moved(doubt));
                let middle = grown.low().to(grown.high()).times(0.5);
                self.doubt(grown.low().moved(middle), middle, view);
            }
        } else if thing.doubt.length().in_metres() > 0.0 {
            self.doubt(low, thing.doubt, view);
        }
        let at = view.at(low);
        match thing.class {
            "outline" => self.out.push_str(&outline(rect, &stroke("ink", INK, 2.2))),
            "space" => {
                let look = format!("{} stroke-dasharray=\"1 3\"", stroke("ink", INK, 1.0));
                self.out.push_str(&outline(rect, &look));
            }
            "opening" => {
                // A flat opening is a thick stroke where it is seen on edge.
                let look = format!("{} stroke-linejoin=\"round\"", stroke("ink", INK, 3.0));
                self.out.push_str(&outline(rect, &look));
                let core = stroke("paper", PAPER, 1.4);
                self.out.push_str(&outline(rect, &core));
            }
            "keep-clear-box" => {
                let look = format!("{} stroke-dasharray=\"1.5 2.5\"", stroke("faint", "#555555", 4.0));
                self.out.push_str(&outline(rect, &look));
            }
            "heater" if !is_point => {
                self.out.push_str(&outline(rect, &format!("{BODY} stroke-width=\"2\"")));
                self.warm_end(thing, rect, view);
            }
            "tank" | "battery" if !is_point => {
                // Without a filling: what stands behind or under it stays in sight.
                self.out.push_str(&outline(rect, &stroke("ink", INK, 1.4)));
                self.sign(thing.class, (rect.x + rect.width / 2.0, rect.y + rect.height / 2.0));
            }
            class => self.sign(class, at),
        }
        if !is_point && !matches!(thing.class, "outline" | "space") {
            room.take_word(rect);
        } else if !is_point {
            let (right, bottom) = (rect.x + rect.width, rect.y + rect.height);
            for (one, other) in [
                ((rect.x, rect.y), (right, rect.y)),
                ((right, rect.y), (right, bottom)),
                ((right, bottom), (rect.x, bottom)),
                ((rect.x, bottom), (rect.x, rect.y)),
            ] {
                room.take_line(one, other);
            }
        } else {
            room.take_word(Rect { x: at.0 - 7.0, y: at.1 - 7.0, width: 14.0, height: 14.0 });
        }
        let touch = touch(3.0);
        if is_point {
            self.out.push_str(&circle(at, 9.0, &touch));
        } else {
            self.out.push_str(&outline(rect, &touch));
        }
        self.out.push_str("</g>\n");
    }

    /// The sign of a thing that has no size on the sheet, or that is told apart by it.
    fn sign(&mut self, class: &str, (x, y): (f64, f64)) {
        let ink = stroke("ink", INK, 1.4);
        let solid = format!("{BODY} stroke-width=\"1.4\"");
        match class {
            "battery" => {
                self.out.push_str(&rectangle(Rect { x: x - 8.0, y: y - 5.0, width: 16.0, height: 10.0 }, &solid));
                self.out.push_str(&straight((x - 6.0, y), (x - 2.0, y), &ink));
                self.out.push_str(&straight((x - 4.0, y - 2.0), (x - 4.0, y + 2.0), &ink));
                self.out.push_str(&straight((x + 2.0, y), (x + 6.0, y), &ink));
            }
            "tank" => {
                self.out.push_str(&circle((x, y), 7.0, &solid));
                self.out.push_str(&straight((x - 5.0, y + 1.0), (x + 5.0, y + 1.0), &ink));
                self.out.push_str(&straight((x - 3.0, y + 3.5), (x + 3.0, y + 3.5), &ink));
            }
            "alarm" => {
                self.out.push_str(&circle((x, y), 5.5, &solid));
                self.out.push_str(&circle((x, y), 1.8, SOLID_INK));
            }
            "heater" => {
                self.out.push_str(&rectangle(Rect { x: x - 8.0, y: y - 8.0, width: 16.0, height: 16.0 }, &solid));
                self.out.push_str(&straight((x - 8.0, y - 8.0), (x + 8.0, y + 8.0), &ink));
            }
            _ => {
                self.out.push_str(&circle((x, y), 4.0, &solid));
            }
        }
    }

    /// The thick edge of a heater's warm end; where it faces who looks, a thick edge inside.
    fn warm_end(&mut self, thing: &Thing, rect: Rect, view: &View) {
        let Some(way) = thing.warm_end else { return };
        let (across, down) = view.way(way);
        let thick = 5.0f64.min(rect.width / 3.0).min(rect.height / 3.0);
        let (right, bottom) = (rect.x + rect.width, rect.y + rect.height);
        let bar = if across > 0.0 {
            Rect { x: right - thick, width: thick, ..rect }
        } else if across < 0.0 {
            Rect { width: thick, ..rect }
        } else if down > 0.0 {
            Rect { y: bottom - thick, height: thick, ..rect }
        } else if down < 0.0 {
            Rect { height: thick, ..rect }
        } else {
            let middle = (rect.x + rect.width / 2.0, rect.y + rect.height / 2.0);
            self.facing_out(middle, view.towards(way), &stroke("ink", INK, 1.4), SOLID_INK);
            return;
        };
        self.out.push_str(&rectangle(bar, SOLID_INK));
    }

    /// A dot in a ring for what faces who looks, a cross in a ring for what faces away.
    fn facing_out(&mut self, (x, y): (f64, f64), towards: f64, line: &str, solid: &str) {
        self.out.push_str(&circle((x, y), 6.5, SOLID_PAPER));
        self.out.push_str(&circle((x, y), 6.5, line));
        if towards > 0.0 {
            self.out.push_str(&circle((x, y), 2.0, solid));
        } else {
            self.out.push_str(&straight((x - 4.5, y - 4.5), (x + 4.5, y + 4.5), line));
            self.out.push_str(&straight((x - 4.5, y + 4.5), (x + 4.5, y - 4.5), line));
        }
    }

    fn line(&mut self, line: &Line, view: &View, room: &mut Room) {
        let look = look_of(line.kind);
        self.element("g", &format!("run {}", look.class), line.place, &looks(look));
        self.title(&line.label);
        // Legs that meet are one stroke, so that dashes go on round corners.
        let mut path = String::new();
        let mut last: Option<Point> = None;
        for leg in &line.legs {
            let (from, to) = (view.at(leg.segment.from), view.at(leg.segment.to));
            if last != Some(leg.segment.from) {
                path.push_str(&format!("M{} {}", number(from.0), number(from.1)));
            }
            path.push_str(&format!("L{} {}", number(to.0), number(to.1)));
            last = Some(leg.segment.to);
            room.take_line(from, to);
        }
        if !path.is_empty() {
            self.out.push_str(&format!("<path class=\"way\" d=\"{path}\"/>\n"));
            if look.core > 0.0 {
                self.out.push_str(&format!(
                    "<path class=\"core stroke-paper\" d=\"{path}\" stroke=\"{PAPER}\" stroke-width=\"{}\" stroke-dasharray=\"none\"/>\n",
                    number(look.core)
                ));
            }
        }
        for leg in &line.legs {
            let (from, to) = (view.at(leg.segment.from), view.at(leg.segment.to));
            if leg.silencer {
                let more = format!(
                    " class=\"silencer\" stroke-width=\"{}\" stroke-dasharray=\"none\" stroke-opacity=\"0.5\"",
                    number(look.width + 7.0)
                );
                self.out.push_str(&straight(from, to, &more));
            }
            let seen_on_end = (to.0 - from.0).hypot(to.1 - from.1) < 1.0;
            if seen_on_end {
                // Coming out of the sheet or going into it.
                self.out.push_str(&circle(
                    to,
                    2.6,
                    &format!(" class=\"solid\" fill=\"{}\" stroke=\"none\"", look.colour),
                ));
            }
            self.element(
                "line",
                "leg touch",
                leg.place,
                &format!(
                    " x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\" stroke-width=\"11\" stroke-opacity=\"0\" stroke-dasharray=\"none\" stroke-linecap=\"round\"",
                    number(from.0),
                    number(from.1),
                    number(to.0),
                    number(to.1)
                ),
            );
            let says = written(&self.analysis.job, leg.place);
            self.title(&says);
            self.out.push_str("</line>\n");
        }
        self.out.push_str("</g>\n");
    }

    fn mark(&mut self, mark: &Mark, look: Look, view: &View, room: &mut Room) {
        let at = view.at(mark.point);
        self.element(
            "g",
            &format!("{} {}", mark.class, look.class),
            mark.place,
            &format!(" fill=\"none\" stroke=\"{}\"", look.colour),
        );
        self.title(&mark.says);
        let line = " stroke-width=\"2\"".to_string();
        let solid = format!(" class=\"solid\" fill=\"{}\" stroke=\"none\"", look.colour);
        match (mark.class, mark.facing) {
            ("end", Some(way)) => {
                let flat = view.way(way);
                if flat.0.hypot(flat.1) > 0.0 {
                    self.arrow(at, flat, 26.0, &line, &solid);
                    let length = flat.0.hypot(flat.1);
                    room.take_line(at, (at.0 + 26.0 * flat.0 / length, at.1 + 26.0 * flat.1 / length));
                } else {
                    self.facing_out(at, view.towards(way), &line, &solid);
                }
            }
            ("end", None) => self.out.push_str(&circle(at, 3.2, &solid)),
            ("lost", _) => {
                self.out.push_str(&circle(at, 7.0, SOLID_PAPER));
                self.out.push_str(&circle(at, 7.0, &line));
                let bold = " stroke=\"none\" fill=\"currentColor\" font-weight=\"bold\"";
                self.out.push_str(&styled_words(at.0 - 3.3, at.1 + 4.0, SIZE, "?", bold));
                room.take_word(Rect { x: at.0 - 7.0, y: at.1 - 7.0, width: 14.0, height: 14.0 });
            }
            _ => {
                let side = 6.0;
                let rect = Rect { x: at.0 - side / 2.0, y: at.1 - side / 2.0, width: side, height: side };
                self.out.push_str(&rectangle(rect, &format!("{SOLID_PAPER} stroke-width=\"1.3\"")));
                room.take_word(rect);
            }
        }
        self.out.push_str(&circle(at, 8.0, &touch(2.0)));
        self.out.push_str("</g>\n");
    }

    /// A word beside a point, with a line to it where it could not stand close.
    fn label(&mut self, raw: &str, size: f64, at: (f64, f64), place: Place, room: &mut Room) {
        let raw = shortened(raw, LONGEST_LABEL);
        let rect = room.place(at, width_of(&raw, size), size + 3.0);
        let near = rect.nearest(at);
        self.element("g", "label", place, "");
        self.out.push('\n');
        if (near.0 - at.0).hypot(near.1 - at.1) > 12.0 {
            self.out.push_str(&straight(at, near, &stroke("faint", FAINT, 0.6)));
        }
        self.out.push_str(&rectangle(rect, &format!("{SOLID_PAPER} fill-opacity=\"0.8\"")));
        self.out.push_str(&words(rect.x + 1.0, rect.y + size, size, &raw));
        self.out.push_str("</g>\n");
    }

    fn label_thing(&mut self, thing: &Thing, view: &View, room: &mut Room) {
        if thing.label.is_empty() {
            return;
        }
        let rect = view.rect(thing.area);
        let at = match thing.class {
            // Inside its upper left corner.
            "outline" | "space" => {
                let width = width_of(&shortened(&thing.label, LONGEST_LABEL), 11.0);
                (rect.x + 4.0 + width / 2.0, rect.y + 2.0)
            }
            _ => rect.nearest((rect.x + rect.width / 2.0, rect.y)),
        };
        let size = if thing.class == "heater" { SIZE } else { 11.0 };
        self.label(&thing.label, size, at, thing.place, room);
    }

    /// A run's name at the middle of its longest leg in this view.
    fn label_line(&mut self, line: &Line, view: &View, room: &mut Room) {
        let seen = |leg: &super::scene::Leg| {
            let (from, to) = (view.at(leg.segment.from), view.at(leg.segment.to));
            (to.0 - from.0).hypot(to.1 - from.1)
        };
        let longest = line.legs.iter().max_by(|one, other| seen(one).total_cmp(&seen(other)));
        let point = longest.map(|leg| leg.segment.at(0.5)).or_else(|| line.marks.first().map(|mark| mark.point));
        if let Some(point) = point {
            self.label(&line.label, SIZE, view.at(point), line.place, room);
        }
    }

    fn found(&mut self, found: &Found, findings: &[&Finding], view: &View, room: &mut Room) {
        let of = |number: &usize| findings.get(*number);
        let gravest = found.numbers.iter().filter_map(of).max_by_key(|finding| finding.severity);
        let Some(gravest) = gravest else { return };
        let says = numbers(&found.numbers);
        let at = view.at(found.point);
        let rect = room.place(at, pill_width(&says), 17.0);
        self.element("g", "finding", gravest.place, "");
        let titles: Vec<&str> = found.numbers.iter().filter_map(of).map(|finding| finding.title.as_str()).collect();
        self.title(&titles.join("; "));
        self.out.push_str(&straight(
            at,
            rect.nearest(at),
            &stroke(gravest.severity.word(), colour(gravest.severity), 1.0),
        ));
        self.out.push_str(&circle(
            at,
            2.2,
            &format!(" class=\"fill-{0}\" fill=\"{1}\"", gravest.severity.word(), colour(gravest.severity)),
        ));
        self.pill(rect, &says, gravest.severity);
        self.out.push_str("</g>\n");
    }

    /// A finding's number: white on dark for an error, in a square for a warning, in a round frame for advice.
    fn pill(&mut self, rect: Rect, says: &str, severity: Severity) {
        let (name, colour) = (severity.word(), colour(severity));
        let filled = severity == Severity::Error;
        let round = if severity == Severity::Advice { 8.0 } else { 1.5 };
        let fill = if filled { name } else { "paper" };
        let fill_colour = if filled { colour } else { PAPER };
        let look = format!(
            " rx=\"{round}\" class=\"stroke-{name} fill-{fill}\" stroke=\"{colour}\" fill=\"{fill_colour}\" stroke-width=\"1.6\""
        );
        self.out.push_str(&rectangle(rect, &look));
        let (class, ink) = if filled { ("fill-paper", PAPER) } else { ("fill-ink", INK) };
        let bold = format!(" class=\"{class}\" fill=\"{ink}\" font-weight=\"bold\"");
        self.out.push_str(&styled_words(rect.x + 5.0, rect.y + 13.0, SIZE, says, &bold));
    }

    /// The list of runs: how each is drawn, its name, length, bends and end.
    fn runs(&mut self, scene: &Scene<'_>) {
        let lines: Vec<&Line> = scene.bodies.iter().flat_map(|body| body.lines.iter()).collect();
        if lines.is_empty() {
            return;
        }
        self.heading("runs");
        for line in lines {
            self.y += STEP;
            let look = look_of(line.kind);
            let (from, to) = ((MARGIN, self.y - 4.0), (MARGIN + 54.0, self.y - 4.0));
            self.element("g", "key", line.place, "");
            self.out.push('\n');
            self.out.push_str(&format!("<g class=\"{}\"{}>\n", look.class, looks(look)));
            self.out.push_str(&straight(from, to, ""));
            if look.core > 0.0 {
                let core = format!(
                    " class=\"stroke-paper\" stroke=\"{PAPER}\" stroke-width=\"{}\" stroke-dasharray=\"none\"",
                    number(look.core)
                );
                self.out.push_str(&straight(from, to, &core));
            }
            self.out.push_str("</g>\n");
            let says = if line.says.is_empty() { String::new() } else { format!(": {}", line.says) };
            let says = format!("{}{says}", line.label);
            for (number, part) in
                wrap(&shortened(&says, 400), self.letters().saturating_sub(10), "", "").lines().enumerate()
            {
                self.y += if number == 0 { 0.0 } else { STEP - 2.0 };
                self.out.push_str(&words(MARGIN + 66.0, self.y, SIZE, part));
            }
            self.out.push_str("</g>\n");
        }
    }

    fn absent(&mut self, scene: &Scene<'_>) {
        if scene.absent.is_empty() {
            return;
        }
        self.heading("not drawn");
        for absent in &scene.absent {
            self.element("g", "absent", absent.place, "");
            self.out.push('\n');
            self.say(&absent.says, 0);
            self.out.push_str("</g>\n");
        }
    }

    fn findings(&mut self, scene: &Scene<'_>) {
        let not_judged = &self.analysis.not_judged;
        if scene.findings.is_empty() && not_judged.is_empty() {
            return;
        }
        self.heading("found");
        let mut locator = Locator::new(self.analysis);
        for (at, finding) in scene.findings.iter().enumerate() {
            let line = locator.start(finding.place).line;
            let off = if scene.on_sheet.get(at) == Some(&true) { "" } else { "; its place is not on this sheet" };
            let elsewhere = if finding.place.file == self.analysis.file { "" } else { " of a file that it follows" };
            let says = format!("{}: {} (line {line}{elsewhere}{off})", finding.severity.word(), finding.title);
            self.element("g", "found", finding.place, "");
            self.out.push('\n');
            let label = (at + 1).to_string();
            let width = pill_width(&label);
            self.y += 6.0;
            self.pill(Rect { x: MARGIN, y: self.y + 2.0, width, height: 17.0 }, &label, finding.severity);
            self.beside(&says);
            self.out.push_str("</g>\n");
        }
        for left in not_judged {
            let line = locator.start(left.place).line;
            let says = format!("{} (line {line})", left.says());
            self.element("g", "not-judged", left.place, "");
            self.out.push('\n');
            self.y += 4.0;
            self.beside(&says);
            self.out.push_str("</g>\n");
        }
    }

    /// Lines of text beside a finding's number.
    fn beside(&mut self, raw: &str) {
        for line in wrap(&shortened(raw, 1200), self.letters().saturating_sub(8), "", "").lines() {
            self.y += STEP - 2.0;
            self.out.push_str(&words(MARGIN + 46.0, self.y, SIZE, line));
        }
    }

    fn foot(&mut self) {
        self.y += 14.0;
        let line = stroke("ink", INK, 1.0);
        self.out.push_str(&straight((MARGIN, self.y), (self.width - MARGIN, self.y), &line));
        self.out.push_str("<g class=\"caution\" font-weight=\"bold\">\n");
        self.say(
            &format!("drawn from what the job says, not from the vehicle. Measure before you drill. {CAUTION}"),
            10,
        );
        self.out.push_str("</g>\n");
        self.y += MARGIN;
    }

    fn close(self, name: &str) -> Drawing {
        let (width, height) = (number(self.width), number(self.y));
        let mut svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"trialfit\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" \
             height=\"{height}\" font-family=\"sans-serif\" fill=\"currentColor\" color=\"{INK}\" role=\"img\">\n<title>{}</title>\n<style>\n{}</style>\n",
            text(&format!("drawing of {}", shortened(name, 110))),
            style()
        );
        let whole = Rect { x: 0.0, y: 0.0, width: self.width, height: self.y };
        svg.push_str(&rectangle(whole, SOLID_PAPER));
        svg.push_str(&self.out);
        svg.push_str("</svg>\n");
        Drawing { svg, elements: self.elements }
    }
}

/// What the signs mean.
const SIGNS: &str = "arrow: the way an end faces; ring with a dot: it faces you; ring with a cross: it faces away; thick \
                     edge: warm end; ?: position lost; faint box: stated doubt";

/// What is touched to reach the text, and set off where the cursor is.
fn touch(width: f64) -> String {
    format!(
        " class=\"touch\" fill=\"{PAPER}\" fill-opacity=\"0\" stroke=\"{INK}\" stroke-opacity=\"0\" stroke-width=\"{}\"",
        number(width + 3.0)
    )
}

/// The attributes of a run's look.
fn looks(look: Look) -> String {
    let dashes = if look.dashes.is_empty() { "none" } else { look.dashes };
    format!(
        " fill=\"none\" stroke=\"{}\" stroke-width=\"{}\" stroke-dasharray=\"{dashes}\" stroke-linejoin=\"round\"",
        look.colour,
        number(look.width)
    )
}

fn colour(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "#b00020",
        Severity::Warning => "#7a4b00",
        Severity::Advice => "#00548f",
    }
}

/// Bold figures are wider than other letters.
fn pill_width(says: &str) -> f64 {
    1.2 * width_of(says, SIZE) + 10.0
}

/// Numbers from 1, a few of them by name: `3, 4, 7`, `3, 4 and 9 more`.
fn numbers(found: &[usize]) -> String {
    const SHOWN: usize = 4;
    let first: Vec<String> = found.iter().take(SHOWN).map(|number| (number + 1).to_string()).collect();
    let rest = found.len().saturating_sub(SHOWN);
    let more = if rest > 0 { format!(" +{rest}") } else { String::new() };
    format!("{}{more}", first.join(","))
}
