//! The course of one coat, drawn: a ribbon for each temperature, time running to the right on a
//! logarithmic scale, and the word of each band in it.

use super::seconds_to;
use crate::engine::profile::product::{Product, Recoat, Stage};
use crate::engine::units::Celsius;

/// Room for the temperature before each ribbon.
const MARGIN: usize = 9;

/// Where ticks may stand, in seconds.
const TICKS: [(f64, &str); 22] = [
    (60.0, "1 min"),
    (120.0, "2 min"),
    (300.0, "5 min"),
    (600.0, "10 min"),
    (1_800.0, "30 min"),
    (3_600.0, "1 h"),
    (7_200.0, "2 h"),
    (14_400.0, "4 h"),
    (28_800.0, "8 h"),
    (57_600.0, "16 h"),
    (86_400.0, "1 d"),
    (172_800.0, "2 d"),
    (345_600.0, "4 d"),
    (604_800.0, "7 d"),
    (1_209_600.0, "14 d"),
    (2_419_200.0, "28 d"),
    (5_184_000.0, "60 d"),
    (10_368_000.0, "120 d"),
    (31_557_600.0, "1 year"),
    (63_115_200.0, "2 years"),
    (126_230_400.0, "4 years"),
    (315_576_000.0, "10 years"),
];

/// What may be done with a film.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Band {
    Wet,
    Open,
    Shut,
    Sandable,
    Cured,
}

impl Band {
    const fn word(self) -> &'static str {
        match self {
            Self::Wet => "wet",
            Self::Open => "open",
            Self::Shut => "shut",
            Self::Sandable => "sandable",
            Self::Cured => "cured",
        }
    }

    const fn fill(self) -> char {
        match self {
            Self::Wet | Self::Cured => ' ',
            Self::Open => '═',
            Self::Shut => '·',
            Self::Sandable => '─',
        }
    }
}

/// The course of a coat at one temperature, in seconds.
struct Course {
    open: Option<f64>,
    close: Option<f64>,
    sandable: Option<f64>,
    cured: Option<f64>,
}

impl Course {
    fn at(product: &Product, entry: Option<&Recoat>, temperature: Celsius) -> Self {
        Self {
            open: entry.map(|entry| entry.open.seconds_at(temperature)),
            close: entry.and_then(|entry| entry.close.as_ref()).map(|close| close.seconds_at(temperature)),
            sandable: seconds_to(product, Stage::Sandable, temperature),
            cured: seconds_to(product, Stage::FullCure, temperature),
        }
    }

    fn ends(&self) -> impl Iterator<Item = f64> {
        [self.open, self.close, self.sandable, self.cured].into_iter().flatten()
    }

    fn band(&self, seconds: f64) -> Band {
        let reached = |moment: Option<f64>| moment.is_some_and(|moment| seconds >= moment);
        let over = reached(self.cured);
        match (self.open, self.close) {
            (Some(open), _) if seconds < open => Band::Wet,
            (Some(_), Some(close)) if seconds < close => Band::Open,
            (Some(_), None) if !over => Band::Open,
            _ if over => Band::Cured,
            _ if reached(self.sandable) => Band::Sandable,
            (None, _) => Band::Wet,
            _ => Band::Shut,
        }
    }
}

/// A ribbon for each temperature below a scale of time; a temperature of `None` is one at which
/// nothing progresses. Nothing where the profile gives nothing to draw.
pub(super) fn draw(
    product: &Product,
    entry: Option<&Recoat>,
    temperatures: &[(String, Option<Celsius>)],
    width: usize,
) -> Option<String> {
    let courses: Vec<(&str, Option<Course>)> = temperatures
        .iter()
        .map(|(name, at)| (name.as_str(), at.map(|at| Course::at(product, entry, at))))
        .collect();
    let ends = || courses.iter().filter_map(|(_, course)| course.as_ref()).flat_map(Course::ends);
    let (first, last) = (ends().reduce(f64::min)?, ends().reduce(f64::max)?);
    let scale = Scale::new(first * 0.4, last * 2.0, width.saturating_sub(MARGIN));
    let mut drawing = scale.ticks();
    for (name, course) in &courses {
        let ribbon = match course {
            Some(course) => scale.ribbon(course),
            None => "stalls: too cold to progress".into(),
        };
        drawing += format!("{name:>width$}  {ribbon}", width = MARGIN - 2).trim_end();
        drawing.push('\n');
    }
    Some(drawing)
}

/// Time on a line of so many cells, from first to last, logarithmic.
struct Scale {
    from: f64,
    to: f64,
    cells: usize,
}

impl Scale {
    fn new(first: f64, last: f64, cells: usize) -> Self {
        Self { from: first.max(1.0).ln(), to: last.max(3.0).ln(), cells: cells.max(1) }
    }

    /// The moment in the middle of a cell.
    fn seconds(&self, cell: usize) -> f64 {
        let share = (cell as f64 + 0.5) / self.cells as f64;
        (self.from + share * (self.to - self.from)).exp()
    }

    fn cell(&self, seconds: f64) -> Option<usize> {
        let share = (seconds.ln() - self.from) / (self.to - self.from);
        (0.0..1.0).contains(&share).then_some((share * self.cells as f64) as usize)
    }

    fn ticks(&self) -> String {
        let (mut names, mut rule) = (String::new(), vec!['─'; self.cells]);
        for (name, cell) in TICKS.iter().filter_map(|(seconds, name)| Some((*name, self.cell(*seconds)?))) {
            let used = names.chars().count();
            let free = used == 0 || cell >= used + 2;
            if free && cell + name.chars().count() <= self.cells {
                names += &" ".repeat(cell - used);
                names += name;
                rule[cell] = '┬';
            }
        }
        let margin = " ".repeat(MARGIN);
        format!("{margin}{}\n{margin}{}\n", names.trim_end(), rule.into_iter().collect::<String>())
    }

    fn ribbon(&self, course: &Course) -> String {
        let bands: Vec<Band> = (0..self.cells).map(|cell| course.band(self.seconds(cell))).collect();
        bands.chunk_by(|one, other| one == other).map(|run| drawn(run[0], run.len())).collect()
    }
}

/// One band of so many cells, with its word in it where it fits.
fn drawn(band: Band, cells: usize) -> String {
    let mut line = vec![band.fill(); cells];
    match band {
        Band::Open if cells > 1 => {
            line[0] = '╞';
            line[cells - 1] = '╡';
        }
        Band::Sandable | Band::Cured => line[0] = '│',
        _ => {}
    }
    let word: Vec<char> = format!(" {} ", band.word()).chars().collect();
    if word.len() + 2 <= cells {
        let start = (cells - word.len()) / 2;
        line[start..start + word.len()].copy_from_slice(&word);
    } else if let Some(letters) = word.get(1..word.len() - 1).filter(|word| word.len() < cells) {
        let start = usize::from(cells > letters.len());
        line[start..start + letters.len()].copy_from_slice(letters);
    }
    line.into_iter().collect()
}
