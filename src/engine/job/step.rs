//! The steps other than coats: one table says what each is called everywhere.

use serde::{Deserialize, Serialize};

/// A step other than a coat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum StepKind {
    /// Sanded.
    Sand,
    /// Washed.
    Wash,
    /// Tape put on.
    TapeOn,
    /// Tape pulled.
    TapeOff,
    /// The newest coats were taken off again.
    Strip,
    /// A coat was interrupted before its last stroke.
    Pause,
    /// An interrupted coat went on.
    Resume,
}

/// What a step is called.
struct Names {
    step: StepKind,
    key: &'static str,
    letter: char,
    done: &'static str,
    label: &'static str,
    about: &'static str,
    caution: Option<&'static str>,
}

const NAMES: [Names; 7] = [
    Names {
        step: StepKind::Sand,
        key: "sand",
        letter: 's',
        done: "sanded",
        label: "sanded",
        about: "Sanded",
        caution: Some(
            "Sanding dust, above all from a film that is not fully cured, harms lungs and skin: use a mask, gloves and extraction.",
        ),
    },
    Names {
        step: StepKind::Wash,
        key: "wash",
        letter: 'w',
        done: "washed",
        label: "washed",
        about: "Washed",
        caution: None,
    },
    Names {
        step: StepKind::TapeOn,
        key: "tape-on",
        letter: 't',
        done: "taped",
        label: "tape on",
        about: "Tape put on",
        caution: None,
    },
    Names {
        step: StepKind::TapeOff,
        key: "tape-off",
        letter: 'p',
        done: "tape pulled",
        label: "tape pulled",
        about: "Tape pulled",
        caution: None,
    },
    Names {
        step: StepKind::Strip,
        key: "strip",
        letter: 'o',
        done: "stripped",
        label: "taken off",
        about: "The newest coat was taken off, or the newest --coats N; say why with --why",
        caution: Some(
            "Strippers, and the dust and fumes of a film that is taken off, harm lungs, eyes and skin: mask, gloves, \
             goggles, fresh air, no flame. Rags and residues can catch fire.",
        ),
    },
    Names {
        step: StepKind::Pause,
        key: "pause",
        letter: 'i',
        done: "coat interrupted",
        label: "interrupted",
        about: "The coat that is being applied was interrupted",
        caution: None,
    },
    Names {
        step: StepKind::Resume,
        key: "resume",
        letter: 'g',
        done: "coat continued",
        label: "goes on",
        about: "The interrupted coat goes on",
        caution: None,
    },
];

impl StepKind {
    /// Every step.
    pub const ALL: [Self; NAMES.len()] = {
        let mut all = [Self::Sand; NAMES.len()];
        let mut at = 0;
        while at < all.len() {
            all[at] = NAMES[at].step;
            at += 1;
        }
        all
    };

    /// The letters of the steps on an area, with what each is called on a form.
    pub const LETTERS: [(char, &'static str); 5] =
        letters([Self::Sand, Self::Wash, Self::TapeOn, Self::TapeOff, Self::Strip]);

    /// The same while a coat is being applied.
    pub const LETTERS_OF_A_COAT: [(char, &'static str); 5] =
        letters([Self::Pause, Self::Resume, Self::TapeOn, Self::TapeOff, Self::Strip]);

    const fn names(self) -> &'static Names {
        // The table has the order of the enumeration; a test says so.
        &NAMES[self as usize]
    }

    /// Its word in commands and in the record.
    pub const fn key(self) -> &'static str {
        self.names().key
    }

    /// The step of a key.
    pub fn named(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|step| step.key() == key)
    }

    /// The letter that it is entered with, and marked with on the ribbons.
    pub const fn letter(self) -> char {
        self.names().letter
    }

    /// What it is called on a form.
    pub const fn label(self) -> &'static str {
        self.names().label
    }

    /// What a command's help says of it.
    pub const fn about(self) -> &'static str {
        self.names().about
    }

    /// As a sentence says it of an area: "Roof: sanded".
    pub const fn done_word(self) -> &'static str {
        self.names().done
    }

    /// What can hurt at this work.
    pub const fn caution(self) -> Option<&'static str> {
        self.names().caution
    }
}

const fn letters<const N: usize>(steps: [StepKind; N]) -> [(char, &'static str); N] {
    let mut all = [(' ', ""); N];
    let mut at = 0;
    while at < N {
        all[at] = (steps[at].letter(), steps[at].label());
        at += 1;
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_step_has_its_own_row_key_and_letter() {
        for (at, step) in StepKind::ALL.into_iter().enumerate() {
            assert_eq!(step as usize, at, "the table has the order of the enumeration");
            assert_eq!(StepKind::named(step.key()), Some(step));
            let json = serde_json::to_value(step).unwrap();
            assert_eq!(json, step.key(), "a record and a command say the same word");
            let same = StepKind::ALL.iter().filter(|other| other.letter() == step.letter()).count();
            assert_eq!(same, 1, "{}", step.key());
        }
    }
}
