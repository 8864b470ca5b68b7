//! The components of a calendar file with their first lines, so that an invalid one does not affect the rest.

/// The kind of a component.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// VEVENT
    Event,
    /// VFREEBUSY
    FreeBusy,
    /// VTIMEZONE
    Zone,
}

impl Kind {
    const fn name(self) -> &'static str {
        match self {
            Self::Event => "VEVENT",
            Self::FreeBusy => "VFREEBUSY",
            Self::Zone => "VTIMEZONE",
        }
    }
}

/// A component.
pub(super) struct Block<'a> {
    pub kind: Kind,
    /// The line of its BEGIN, from 1.
    pub line: usize,
    /// From its BEGIN to its END.
    pub text: &'a str,
}

impl Block<'_> {
    /// The line of a property; that of the component if it has none.
    pub fn line_of(&self, property: &str) -> usize {
        let named = |line: &str| {
            let (name, rest) = line.split_at_checked(property.len()).unwrap_or_default();
            name.eq_ignore_ascii_case(property) && rest.starts_with([':', ';'])
        };
        self.line + self.text.lines().position(named).unwrap_or(0)
    }
}

/// The components of a file, and those without an END.
pub(super) struct Blocks<'a> {
    pub found: Vec<Block<'a>>,
    pub faults: Vec<(usize, String)>,
}

/// Parts outside the components.
const BESIDE: [&str; 6] = ["VCALENDAR", "VEVENT", "VFREEBUSY", "VTIMEZONE", "VTODO", "VJOURNAL"];

impl<'a> Blocks<'a> {
    /// Splits a file; None if it is not a calendar.
    pub fn of(text: &'a str) -> Option<Self> {
        let text = text.trim_start_matches('\u{feff}');
        let mut blocks = Self { found: Vec::new(), faults: Vec::new() };
        let mut open: Option<(Kind, usize, usize)> = None;
        let (mut calendar, mut offset) = (false, 0);
        for (index, line) in text.split_inclusive('\n').enumerate() {
            let (number, begins) = (index + 1, offset);
            offset += line.len();
            match boundary(line) {
                Some((true, name)) if BESIDE.iter().any(|other| name.eq_ignore_ascii_case(other)) => {
                    blocks.unended(open.take());
                    calendar |= name.eq_ignore_ascii_case("VCALENDAR");
                    let kinds = [Kind::Event, Kind::FreeBusy, Kind::Zone];
                    let kind = kinds.into_iter().find(|kind| name.eq_ignore_ascii_case(kind.name()));
                    open = kind.map(|kind| (kind, number, begins));
                }
                Some((false, name)) => match open {
                    Some((kind, line, from)) if name.eq_ignore_ascii_case(kind.name()) => {
                        open = None;
                        blocks.found.push(Block {
                            kind,
                            line,
                            text: text.get(from..offset).unwrap_or_default(),
                        });
                    }
                    Some(_) if BESIDE.iter().any(|other| name.eq_ignore_ascii_case(other)) => {
                        blocks.unended(open.take());
                    }
                    _ => {}
                },
                _ => {}
            }
        }
        blocks.unended(open);
        calendar.then_some(blocks)
    }

    fn unended(&mut self, open: Option<(Kind, usize, usize)>) {
        if let Some((kind, line, _)) = open {
            let name = kind.name();
            self.faults.push((
                line,
                format!(
                    "BEGIN:{name} has no END:{name}; the file is incomplete or damaged there. It is ignored."
                ),
            ));
        }
    }
}

/// Whether a line begins or ends a component, and which.
fn boundary(line: &str) -> Option<(bool, &str)> {
    let (word, name) = line.split_once(':')?;
    let begins = word.eq_ignore_ascii_case("BEGIN");
    (begins || word.eq_ignore_ascii_case("END")).then(|| (begins, name.trim()))
}
