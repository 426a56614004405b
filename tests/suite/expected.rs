//! Reference files: rows by column name, and expected values that say where they come from.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use cutspan::stats::{Design, LonelyPsu, Sample};

/// Rows of a CSV file, numbers and texts by column name.
pub struct Rows(Vec<BTreeMap<String, String>>);

/// Expected values with the tolerance that their header states.
pub struct Expected {
    pub rows: Rows,
    tolerance: Tolerance,
}

#[derive(Debug, PartialEq)]
enum Tolerance {
    Relative(f64),
    Absolute(f64),
}

pub type Row = BTreeMap<String, String>;

impl Rows {
    fn parse(text: &str) -> Result<Self, String> {
        let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
        let rows = reader.deserialize().collect::<Result<Vec<Row>, _>>().map_err(|e| e.to_string())?;
        if rows.is_empty() { Err("no rows".to_owned()) } else { Ok(Self(rows)) }
    }

    /// `tests/reference/<statistic>/<file>`.
    pub fn read(statistic: &str, file: &str) -> Self {
        Self::parse(&text(statistic, file)).unwrap_or_else(|e| panic!("{statistic}/{file}: {e}"))
    }

    pub fn iter(&self) -> impl Iterator<Item = &Row> {
        self.0.iter()
    }

    /// Rows whose column holds this text.
    pub fn only(&self, column: &str, wanted: &str) -> Self {
        let rows: Vec<Row> = self.0.iter().filter(|row| row[column] == wanted).cloned().collect();
        assert!(!rows.is_empty(), "no row with {column} = {wanted}");
        Self(rows)
    }

    pub fn numbers(&self, column: &str) -> Vec<f64> {
        self.0.iter().map(|row| number(row, column)).collect()
    }

    /// The design of these rows: columns `stratum`, `psu`.
    pub fn design(&self, lonely: LonelyPsu) -> Design {
        let units = self.units();
        let strata = positions(self.0.iter().map(|row| row["stratum"].clone()));
        let mut stratum_of_unit = vec![0; *units.iter().max().expect("rows") as usize + 1];
        for (unit, stratum) in units.iter().zip(strata) {
            stratum_of_unit[*unit as usize] = stratum;
        }
        Design::new(stratum_of_unit, None, lonely).expect("a design R accepts")
    }

    /// People of these rows that are in the domain; weights in column `w`.
    pub fn sample(&self, value: &str, in_domain: impl Fn(&Row) -> bool) -> Sample {
        let units = self.units();
        let chosen: Vec<usize> = (0..self.0.len()).filter(|&i| in_domain(&self.0[i])).collect();
        let column = |name: &str| chosen.iter().map(|&i| number(&self.0[i], name)).collect::<Vec<_>>();
        let unit: Vec<u32> = chosen.iter().map(|&i| units[i]).collect();
        Sample::from_people(&column(value), &column("w"), &unit).expect("usable rows")
    }

    fn units(&self) -> Vec<u32> {
        positions(self.0.iter().map(|row| (row["stratum"].clone(), row["psu"].clone())))
    }
}

impl Expected {
    pub fn read(statistic: &str) -> Self {
        Self::parse(&text(statistic, "expected.csv"))
            .unwrap_or_else(|e| panic!("{statistic}/expected.csv: {e}"))
    }

    /// Refuses a file that does not say which tool answered what, and how close is close.
    fn parse(text: &str) -> Result<Self, String> {
        let header = |key: &str| {
            let line = text.lines().find_map(|line| line.strip_prefix(&format!("# {key}: ")));
            line.map(str::trim).filter(|line| !line.is_empty()).ok_or(format!("no `# {key}:` line"))
        };
        header("tool")?;
        header("call")?;
        let stated = header("tolerance")?;
        let (amount, kind) = stated.split_once(' ').ok_or("tolerance without its kind")?;
        let amount: f64 = amount.parse().map_err(|_| format!("tolerance {amount}"))?;
        let tolerance = match kind {
            "relative" => Tolerance::Relative(amount),
            "absolute" => Tolerance::Absolute(amount),
            _ => return Err(format!("tolerance is relative or absolute, not {kind}")),
        };
        Ok(Self { rows: Rows::parse(text)?, tolerance })
    }

    /// Fails unless `got` is as close to the row's column as the header demands.
    #[track_caller]
    pub fn assert(&self, row: &Row, column: &str, got: f64) {
        let want = number(row, column);
        let reach = match self.tolerance {
            Tolerance::Relative(share) => share * want.abs(),
            Tolerance::Absolute(amount) => amount,
        };
        assert!(
            (got - want).abs() <= reach,
            "{column}: got {got}, want {want} within {:?}; {row:?}",
            self.tolerance
        );
    }
}

#[track_caller]
pub fn number(row: &Row, column: &str) -> f64 {
    optional(row, column).unwrap_or_else(|| panic!("no number in {column}: {row:?}"))
}

/// A number, or nothing in an empty cell.
pub fn optional(row: &Row, column: &str) -> Option<f64> {
    match row[column].as_str() {
        "" => None,
        text => Some(text.parse().unwrap_or_else(|_| panic!("{column} is not a number: {row:?}"))),
    }
}

fn text(statistic: &str, file: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference").join(statistic).join(file);
    fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

/// Each key's position in the order of first appearance.
fn positions<K: Ord>(keys: impl Iterator<Item = K>) -> Vec<u32> {
    let mut known = BTreeMap::new();
    keys.map(|key| {
        let next = known.len() as u32;
        *known.entry(key).or_insert(next)
    })
    .collect()
}

#[test]
fn a_file_without_its_story_is_refused() {
    let whole = "# tool: R\n# call: f(x)\n# tolerance: 1e-9 relative\np,q\n0.5,2\n";
    assert!(Expected::parse(whole).is_ok());
    for line in ["# tool: R\n", "# call: f(x)\n", "# tolerance: 1e-9 relative\n", "0.5,2\n"] {
        assert!(Expected::parse(&whole.replace(line, "")).is_err(), "without {line:?}");
    }
    assert!(Expected::parse(&whole.replace("relative", "or so")).is_err());
}
