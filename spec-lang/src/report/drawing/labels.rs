//! Where words go on the sheet so that they neither cover each other nor the lines. Nothing is drawn here.

/// A rectangle on the sheet.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Rect {
    /// Left edge.
    pub(super) x: f64,
    /// Upper edge.
    pub(super) y: f64,
    /// Width.
    pub(super) width: f64,
    /// Height.
    pub(super) height: f64,
}

impl Rect {
    /// The point in it nearest to another.
    pub(super) fn nearest(self, (x, y): (f64, f64)) -> (f64, f64) {
        (x.clamp(self.x, self.x + self.width), y.clamp(self.y, self.y + self.height))
    }
}

/// The side of a cell; half a letter.
const CELL: f64 = 5.0;

/// What covering a word costs, against covering a line.
const WORD: u32 = 100;
const LINE: u32 = 4;
/// What it costs to stand a ring farther away.
const RING: f64 = 6.0;

/// What is taken on a part of the sheet, in cells. What a label costs to place depends on the size of the sheet only.
#[derive(Debug)]
pub(super) struct Room {
    bounds: Rect,
    across: usize,
    cells: Vec<u32>,
}

impl Room {
    /// An empty part of the sheet.
    pub(super) fn new(bounds: Rect) -> Room {
        let across = cells(bounds.width);
        Room { bounds, across, cells: vec![0; across.saturating_mul(cells(bounds.height))] }
    }

    /// The cells that a rectangle touches: columns and rows, ends excluded.
    fn touched(&self, rect: Rect) -> (std::ops::Range<usize>, std::ops::Range<usize>) {
        let down = self.cells.len() / self.across.max(1);
        let cell = |value: f64, most: usize| ((value / CELL).floor().max(0.0) as usize).min(most);
        let (x, y) = (rect.x - self.bounds.x, rect.y - self.bounds.y);
        let columns = cell(x, self.across)..cell(x + rect.width + CELL, self.across);
        let rows = cell(y, down)..cell(y + rect.height + CELL, down);
        (columns, rows)
    }

    fn each(&self, rect: Rect) -> impl Iterator<Item = usize> + use<> {
        let (columns, rows) = self.touched(rect);
        let across = self.across;
        rows.flat_map(move |row| columns.clone().map(move |column| row * across + column))
    }

    fn take(&mut self, rect: Rect, cost: u32) {
        for index in self.each(rect) {
            if let Some(cell) = self.cells.get_mut(index) {
                *cell = (*cell).max(cost);
            }
        }
    }

    /// A word stands there.
    pub(super) fn take_word(&mut self, rect: Rect) {
        self.take(rect, WORD);
    }

    /// A line lies there.
    pub(super) fn take_line(&mut self, (x1, y1): (f64, f64), (x2, y2): (f64, f64)) {
        let steps = ((x2 - x1).hypot(y2 - y1) / CELL).ceil().clamp(1.0, 4000.0);
        for step in 0..=(steps as usize) {
            let share = step as f64 / steps;
            let (x, y) = (x1 + (x2 - x1) * share, y1 + (y2 - y1) * share);
            self.take(Rect { x, y, width: 0.0, height: 0.0 }, LINE);
        }
    }

    fn cost(&self, rect: Rect) -> u32 {
        let inside = rect.x >= self.bounds.x
            && rect.y >= self.bounds.y
            && rect.x + rect.width <= self.bounds.x + self.bounds.width
            && rect.y + rect.height <= self.bounds.y + self.bounds.height;
        let taken: u32 = self.each(rect).filter_map(|index| self.cells.get(index)).sum();
        if inside { taken } else { taken.saturating_add(100 * WORD) }
    }

    /// The best free place for a label of that size near a point: the nearer the better, words uncovered, and lines where
    /// that can be. It is taken.
    pub(super) fn place(&mut self, (x, y): (f64, f64), width: f64, height: f64) -> Rect {
        const WAYS: [(f64, f64); 8] =
            [(1.0, -0.7), (-1.0, -0.7), (1.0, 0.7), (-1.0, 0.7), (0.0, -1.0), (0.0, 1.0), (1.0, 0.0), (-1.0, 0.0)];
        let mut best: Option<(f64, Rect)> = None;
        for ring in 0..14u32 {
            let gap = 6.0 + 11.0 * f64::from(ring);
            for (across, down) in WAYS {
                let middle = (x + across * (gap + width / 2.0), y + down * (gap + height / 2.0));
                let rect = Rect { x: middle.0 - width / 2.0, y: middle.1 - height / 2.0, width, height };
                let cost = f64::from(self.cost(rect)) + RING * f64::from(ring);
                if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                    best = Some((cost, rect));
                }
            }
            // No place farther out can be better.
            if best.as_ref().is_some_and(|(least, _)| *least <= RING * f64::from(ring + 1)) {
                break;
            }
        }
        let rect = best.map(|(_, rect)| rect).unwrap_or_default();
        self.take_word(rect);
        rect
    }
}

fn cells(length: f64) -> usize {
    (length / CELL).ceil().clamp(1.0, 2000.0) as usize
}
