//! The parts of a calendar file, each with the line it begins in, so that a broken one is told apart from the
//! rest.

/// What a part describes, as far as it matters here.
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

/// One part.
pub(super) struct Block<'a> {
    pub kind: Kind,
    /// The line of its BEGIN, from 1.
    pub line: usize,
    /// From its BEGIN to its END.
    pub text: &'a str,
}

impl Block<'_> {
    /// The line in which a property stands; that of the part where it is not there.
    pub fn line_of(&self, property: &str) -> usize {
        let named = |line: &str| {
            let (name, rest) = line.split_at_checked(property.len()).unwrap_or_default();
            name.eq_ignore_ascii_case(property) && rest.starts_with([':', ';'])
        };
        self.line + self.text.lines().position(named).unwrap_or(0)
    }
}

/// The parts of a file, and those that do not end.
pub(super) struct Blocks<'a> {
    pub found: Vec<Block<'a>>,
    pub faults: Vec<(usize, String)>,
}

/// What stands beside a part, never in one.
const BESIDE: [&str; 6] = ["VCALENDAR", "VEVENT", "VFREEBUSY", "VTIMEZONE", "VTODO", "VJOURNAL"];

impl<'a> Blocks<'a> {
    /// Takes a file apart; None where it is no calendar.
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

/// Whether a line begins or ends something, and what.
fn boundary(line: &str) -> Option<(bool, &str)> {
    let (word, name) = line.split_once(':')?;
    let begins = word.eq_ignore_ascii_case("BEGIN");
    (begins || word.eq_ignore_ascii_case("END")).then(|| (begins, name.trim()))
}
