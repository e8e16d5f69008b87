//! Reads the reference tables of `reference/` and compares figures with them. No law of physics is in here.
//!
//! A table's columns named `expected_...` hold what a source says; every non-empty one must be compared, or `finish` fails.

use std::cell::Cell;
use std::collections::HashMap;
use std::path::{Path, PathBuf};

/// Where the tables, the vectors and the script that makes the vectors are.
pub fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("reference")
}

/// One file of reference values.
pub struct Table {
    name: String,
    rows: Vec<Row>,
}

/// One row of reference values.
pub struct Row {
    place: String,
    cells: HashMap<String, String>,
    compared: Cell<usize>,
}

impl Table {
    /// Reads a file by its path below the reference folder. Lines that start with `#` say where the values come from.
    pub fn read(name: &str) -> Table {
        let path = folder().join(name);
        let mut reader = csv::ReaderBuilder::new()
            .comment(Some(b'#'))
            .from_path(&path)
            .unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        let header = reader.headers().expect("a header").clone();
        let rows: Vec<Row> = reader
            .records()
            .enumerate()
            .map(|(index, record)| {
                let record = record.unwrap_or_else(|error| panic!("{name}: {error}"));
                let cells = header.iter().zip(record.iter());
                Row {
                    place: format!("{name} row {}", index + 1),
                    cells: cells.map(|(column, cell)| (column.to_owned(), cell.trim().to_owned())).collect(),
                    compared: Cell::new(0),
                }
            })
            .collect();
        assert!(!rows.is_empty(), "{name} has no rows");
        Table { name: name.to_owned(), rows }
    }

    /// The rows, in order.
    pub fn rows(&self) -> &[Row] {
        &self.rows
    }

    /// How many values the source gives in this file.
    pub fn expected(&self) -> usize {
        self.rows.iter().map(Row::expected).sum()
    }

    /// Fails if a value of the file was left uncompared or compared twice; prints how many there were.
    pub fn finish(self) {
        for row in &self.rows {
            assert_eq!(row.compared.get(), row.expected(), "{}: values compared", row.place);
        }
        println!("{}: {} values compared", self.name, self.expected());
    }
}

impl Row {
    fn expected(&self) -> usize {
        let expects = |(column, cell): &(&String, &String)| column.starts_with("expected_") && !cell.is_empty();
        self.cells.iter().filter(expects).count()
    }

    /// A cell as text; empty where it does not apply.
    pub fn text(&self, column: &str) -> &str {
        self.cells.get(column).unwrap_or_else(|| panic!("{}: no column `{column}`", self.place))
    }

    /// A cell as a number, if it is not empty.
    pub fn maybe(&self, column: &str) -> Option<f64> {
        let cell = self.text(column);
        let parse =
            |cell: &str| -> f64 { cell.parse().unwrap_or_else(|_| panic!("{}: `{column}` is {cell}", self.place)) };
        (!cell.is_empty()).then(|| parse(cell))
    }

    /// A cell as a number.
    pub fn number(&self, column: &str) -> f64 {
        self.maybe(column).unwrap_or_else(|| panic!("{}: `{column}` is empty", self.place))
    }

    /// What the source says, counted as compared.
    pub fn expect(&self, column: &str) -> f64 {
        self.compared.set(self.compared.get() + 1);
        self.number(column)
    }

    /// Compares a figure with what the source says, within the row's own tolerance.
    pub fn check(&self, column: &str, figure: f64) {
        let (size, kind) = self
            .text("tolerance")
            .split_once(' ')
            .unwrap_or_else(|| panic!("{}: a tolerance is a number and a kind", self.place));
        let size: f64 = size.parse().expect("a tolerance");
        let expected = self.expect(column);
        let room = match kind {
            "relative" => size * expected.abs(),
            "absolute" => size,
            other => panic!("{}: tolerance kind `{other}`", self.place),
        };
        assert!(
            (figure - expected).abs() <= room,
            "{}: `{column}` is {figure}, {expected} ± {room} by {}",
            self.place,
            self.text("source")
        );
    }

    /// Where the row is, for a test's own messages.
    pub fn place(&self) -> &str {
        &self.place
    }
}
