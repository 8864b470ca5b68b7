//! The keys: one table that feeds the handling, the footer and the help, so that they cannot disagree.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

use super::form::Edit;

/// What is in front of the person, as far as keys are concerned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scene {
    /// The board.
    Board,
    /// The big digits.
    Big,
    /// The help.
    Help,
    /// Everything about one area.
    Details,
    /// The alerts that nobody has seen.
    Alerts,
    /// The weather.
    Weather,
    /// The record.
    Record,
    /// A coat over time.
    Coat,
    /// How much of what.
    Amounts,
    /// The plan.
    Plan,
    /// A question that wants yes or no.
    Confirm,
    /// A form.
    Form,
}

impl Scene {
    /// Every scene.
    pub const ALL: [Self; 12] = [
        Self::Board,
        Self::Big,
        Self::Help,
        Self::Details,
        Self::Alerts,
        Self::Weather,
        Self::Record,
        Self::Coat,
        Self::Amounts,
        Self::Plan,
        Self::Confirm,
        Self::Form,
    ];
}

/// What a key does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Action {
    /// Opens the form of a coat's first stroke.
    Coat,
    /// Opens the form of its last stroke.
    Finish,
    /// Opens the form of a reading.
    Reading,
    /// Opens the form of another step.
    Step,
    /// Opens the form of a batch.
    Mix,
    /// Opens the form of a batch that is used up.
    Emptied,
    /// Asks whether the last entry is to be taken back.
    Undo,
    /// The alerts were seen.
    Seen,
    /// Between the board and the big digits.
    Big,
    /// Everything about the area.
    Details,
    /// The list of alerts.
    Alerts,
    /// How much of what: the chosen area, all of them, the stock.
    Amounts,
    /// Opens the form of a wet film.
    Film,
    /// Opens the form of what came into the shop.
    Stock,
    /// The amounts of the next area.
    NextPage,
    /// The amounts of the area before.
    PageBefore,
    /// The weather.
    Weather,
    /// The plan.
    Plan,
    /// Opens the form that enters the chosen step of the plan; during the search the best plan so far is enough.
    EnterStep,
    /// The weather of the next place.
    NextPlace,
    /// The weather of the place before.
    PlaceBefore,
    /// The weather as a table of hours, and back.
    Table,
    /// The record.
    Record,
    /// A coat of the record, over time.
    LookAt,
    /// Asks whether the chosen entry is to be taken back.
    TakeBack,
    /// Opens the form that corrects the chosen entry.
    CorrectLine,
    /// Opens the form of a note on the chosen entry.
    NoteOn,
    /// The entries of the next area.
    NextArea,
    /// The entries of the area before.
    AreaBefore,
    /// Ten lines up.
    PageUp,
    /// Ten lines down.
    PageDown,
    /// Opens the form of a note.
    Note,
    /// Opens the form of work.
    Work,
    /// The help.
    Help,
    /// One up.
    Up,
    /// One down.
    Down,
    /// Less time on the axis.
    Closer,
    /// More time on the axis.
    Farther,
    /// The axis moves to the past.
    Earlier,
    /// The axis moves to the future.
    Later,
    /// The axis goes back to now.
    ToNow,
    /// Back to what was there before.
    Back,
    /// Yes, or done with a form.
    Accept,
    /// The next field of a form.
    NextField,
    /// The field before.
    PreviousField,
    /// The last letter goes.
    Erase,
    /// Edits the text of a field.
    Edit(Edit),
    /// To the shell, until the person comes back.
    Suspend,
    /// Draws everything again.
    Redraw,
    /// Leaves.
    Quit,
}

/// A key as the table names it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Key {
    /// A character, in lower case.
    Char(char),
    /// A character with the control key.
    Control(char),
    /// Any other.
    Other(KeyCode),
}

impl Key {
    /// The key of an event. Capitals count as small letters: a caps lock must not lock the board. None
    /// for what stands for nothing here.
    pub fn of(event: KeyEvent) -> Option<Self> {
        let held = event.modifiers;
        match event.code {
            KeyCode::Char(c) if held.contains(KeyModifiers::CONTROL) => {
                Some(Self::Control(c.to_ascii_lowercase()))
            }
            KeyCode::Char(_) if held.contains(KeyModifiers::ALT) => None,
            KeyCode::Char(c) => Some(Self::Char(c.to_lowercase().next().unwrap_or(c))),
            KeyCode::Tab if held.contains(KeyModifiers::SHIFT) => Some(Self::Other(KeyCode::BackTab)),
            other => Some(Self::Other(other)),
        }
    }
}

/// Where a key is named beside the help.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shown {
    /// In the footer, as far as there is room.
    Footer,
    /// Beside the banners.
    Banner,
    /// In the help alone.
    Help,
}

/// One line of the table.
#[derive(Debug, Clone, Copy)]
pub struct Binding {
    /// The keys.
    pub keys: &'static [Key],
    /// Where they do it.
    pub scenes: &'static [Scene],
    /// What they do.
    pub action: Action,
    /// The keys as they are written.
    pub name: &'static str,
    /// What they do, in a word or two.
    pub short: &'static str,
    /// What they do, for the help; empty where another line says it.
    pub long: &'static str,
    /// Where they are named.
    pub shown: Shown,
}

const BASE: &[Scene] = &[Scene::Board, Scene::Big];
const BOARD: &[Scene] = &[Scene::Board];
const READ: &[Scene] = &[Scene::Board, Scene::Big, Scene::Weather];
const FORM: &[Scene] = &[Scene::Form];
const CONFIRM: &[Scene] = &[Scene::Confirm];
const ALERTS: &[Scene] = &[Scene::Alerts];
const PAGES: &[Scene] = &[Scene::Help, Scene::Details, Scene::Alerts];
const PLAN: &[Scene] = &[Scene::Plan];
const WEATHER: &[Scene] = &[Scene::Weather];
const RECORD: &[Scene] = &[Scene::Record];
const COAT: &[Scene] = &[Scene::Coat];
const AMOUNTS: &[Scene] = &[Scene::Amounts];
const RECORDED: &[Scene] = &[Scene::Board, Scene::Big, Scene::Amounts];
const SCROLLED: &[Scene] = &[Scene::Help, Scene::Details, Scene::Weather, Scene::Coat, Scene::Amounts];

const fn line(
    keys: &'static [Key],
    scenes: &'static [Scene],
    action: Action,
    [name, short, long]: [&'static str; 3],
    shown: Shown,
) -> Binding {
    Binding { keys, scenes, action, name, short, long, shown }
}

use Key::{Char, Control, Other};
use Shown::{Banner, Footer};

/// Every key; what is most useful comes first.
#[rustfmt::skip]
pub const TABLE: &[Binding] = &[
    line(&[Char('c')], BASE, Action::Coat, ["c", "coat", "the first stroke of a coat"], Footer),
    line(&[Char('f')], BASE, Action::Finish, ["f", "last stroke", "the last stroke of a coat"], Footer),
    line(&[Char('t')], READ, Action::Reading, ["t", "reading", "a reading: temperature, humidity, surface"], Footer),
    line(&[Char('s')], BASE, Action::Step, ["s", "step", "another step: sanded, washed, tape, coat taken off"], Footer),
    line(&[Char('u')], BASE, Action::Undo, ["u", "undo", "takes the last entry back"], Footer),
    line(&[Char('m')], BASE, Action::Mix, ["m", "mix", "a batch is mixed; its pot life counts down"], Footer),
    line(&[Char('p')], BASE, Action::Plan, ["p", "plan", "the plan: every coat in your free hours, and the end"], Footer),
    line(&[Char('w')], BASE, Action::Weather, ["w", "weather", "the last day, the next three, and when to coat"], Footer),
    line(&[Char('?'), Char('h')], BASE, Action::Help, ["?", "help", "this page"], Footer),
    line(&[Char('q')], BASE, Action::Quit, ["q", "quit", "quits; everything is saved"], Footer),
    line(&[Char('r')], BASE, Action::Record, ["r", "record", "the record: look, take back, correct"], Footer),
    line(&[Char('g')], BASE, Action::Amounts, ["g", "how much", "how much to mix, in how many batches, and the stock"], Footer),
    line(&[Char('b')], BASE, Action::Big, ["b", "big", "the most urgent countdown in big digits; again: back"], Footer),
    line(&[Char('e')], BASE, Action::Emptied, ["e", "empty", "a batch is used up, or thrown away"], Shown::Help),
    line(&[Char('a')], BASE, Action::Seen, ["a", "seen", "marks all alerts as seen"], Banner),
    line(&[Char('l')], BASE, Action::Alerts, ["l", "list", "the list of alerts"], Banner),
    line(&[Other(KeyCode::Enter)], BOARD, Action::Details, ["Enter", "details", "everything about the chosen area"], Footer),
    line(&[Char('n')], BASE, Action::Note, ["n", "note", "a note, with the path of a photo"], Shown::Help),
    line(&[Char('d')], BASE, Action::Work, ["d", "work", "starts or stops the work clock, or adds minutes"], Shown::Help),
    line(&[Char('i')], RECORDED, Action::Film, ["i", "film", "a measured wet film"], Shown::Help),
    line(&[Char('o')], RECORDED, Action::Stock, ["o", "stock", "material for the stock"], Shown::Help),
    line(&[Other(KeyCode::Up), Char('k')], BOARD, Action::Up, ["\u{2191} k", "up", "chooses the area above"], Shown::Help),
    line(&[Other(KeyCode::Down), Char('j')], BOARD, Action::Down, ["\u{2193} j", "down", "chooses the area below"], Shown::Help),
    line(&[Char('+'), Char('=')], BOARD, Action::Closer, ["+", "closer", "less time on the axis"], Footer),
    line(&[Char('-'), Char('_')], BOARD, Action::Farther, ["-", "farther", "more time on the axis"], Footer),
    line(&[Other(KeyCode::Left)], BOARD, Action::Earlier, ["\u{2190}", "earlier", "the axis moves to the past"], Footer),
    line(&[Other(KeyCode::Right)], BOARD, Action::Later, ["\u{2192}", "later", "the axis moves to the future"], Footer),
    line(&[Char('0')], BOARD, Action::ToNow, ["0", "now", "the axis goes back to now, with its usual span"], Footer),
    line(&[Other(KeyCode::Esc)], BASE, Action::Back, ["Esc", "back", "closes the message; chooses the most urgent area"], Shown::Help),

    line(&[Other(KeyCode::Enter)], FORM, Action::Accept, ["Enter", "record", "records it, or asks for what is missing"], Footer),
    line(&[Other(KeyCode::Tab)], FORM, Action::NextField, ["Tab", "next field", "the next field; \"when\" takes -20m or 14:20"], Footer),
    line(&[Other(KeyCode::Up)], FORM, Action::Up, ["\u{2191}", "choose", ""], Shown::Help),
    line(&[Other(KeyCode::Down)], FORM, Action::Down, ["\u{2191} \u{2193}", "choose", "chooses from the list; letters filter it"], Footer),
    line(&[Other(KeyCode::Esc)], FORM, Action::Back, ["Esc", "cancel", "closes the form, nothing is recorded"], Footer),
    line(&[Other(KeyCode::BackTab)], FORM, Action::PreviousField, ["Shift-Tab", "previous field", "the previous field"], Footer),
    line(&[Other(KeyCode::Backspace)], FORM, Action::Erase, ["Backspace", "erase", "deletes the last letter"], Footer),
    line(&[Other(KeyCode::Left)], FORM, Action::Edit(Edit::Left), ["\u{2190}", "left", ""], Shown::Help),
    line(&[Other(KeyCode::Right)], FORM, Action::Edit(Edit::Right), ["\u{2190} \u{2192}", "move", "moves in the text"], Shown::Help),
    line(&[Other(KeyCode::Home), Control('a')], FORM, Action::Edit(Edit::Home), ["Ctrl-A", "start", "to the start of the text, as Home"], Shown::Help),
    line(&[Other(KeyCode::End), Control('e')], FORM, Action::Edit(Edit::End), ["Ctrl-E", "end", "to the end of the text, as End"], Shown::Help),
    line(&[Other(KeyCode::Delete)], FORM, Action::Edit(Edit::Delete), ["Del", "delete", "deletes the next letter"], Shown::Help),
    line(&[Control('u')], FORM, Action::Edit(Edit::CutLeft), ["Ctrl-U", "cut left", "deletes all before the cursor"], Shown::Help),
    line(&[Control('k')], FORM, Action::Edit(Edit::CutRight), ["Ctrl-K", "cut right", "deletes all after the cursor"], Shown::Help),
    line(&[Control('w')], FORM, Action::Edit(Edit::CutWord), ["Ctrl-W", "cut word", "deletes the word before the cursor"], Shown::Help),

    line(&[Char('y'), Other(KeyCode::Enter)], CONFIRM, Action::Accept, ["y", "yes", "yes"], Footer),
    line(&[Char('n'), Other(KeyCode::Esc)], CONFIRM, Action::Back, ["n", "no", "no"], Footer),

    line(&[Char('a')], ALERTS, Action::Seen, ["a", "seen", "marks the chosen alert as seen"], Footer),
    line(&[Other(KeyCode::Up), Char('k')], ALERTS, Action::Up, ["\u{2191} k", "up", "chooses the alert above"], Footer),
    line(&[Other(KeyCode::Down), Char('j')], ALERTS, Action::Down, ["\u{2193} j", "down", "chooses the alert below"], Footer),
    line(&[Other(KeyCode::Esc), Char('p'), Char('q')], PLAN, Action::Back, ["Esc", "back", "back to the board; stops the calculation"], Footer),
    line(&[Other(KeyCode::Enter)], PLAN, Action::EnterStep, ["Enter", "record", "records the chosen step; during the search: takes the best plan so far"], Footer),
    line(&[Other(KeyCode::Up), Char('k')], PLAN, Action::Up, ["\u{2191} k", "up", "chooses the step above"], Footer),
    line(&[Other(KeyCode::Down), Char('j')], PLAN, Action::Down, ["\u{2193} j", "down", "chooses the step below"], Footer),
    line(&[Other(KeyCode::Esc), Char('w'), Char('q')], WEATHER, Action::Back, ["Esc", "back", "back to the board"], Footer),
    line(&[Other(KeyCode::Left)], WEATHER, Action::PlaceBefore, ["\u{2190}", "previous place", ""], Shown::Help),
    line(&[Other(KeyCode::Right)], WEATHER, Action::NextPlace, ["\u{2190} \u{2192}", "place", "another place"], Footer),
    line(&[Char('v')], WEATHER, Action::Table, ["v", "table", "a table of hours; again: back"], Footer),
    line(&[Other(KeyCode::Enter)], RECORD, Action::LookAt, ["Enter", "look", "a coat over time; any other entry in full"], Footer),
    line(&[Char('u')], RECORD, Action::TakeBack, ["u", "take back", "takes the chosen entry back"], Footer),
    line(&[Char('c')], RECORD, Action::CorrectLine, ["c", "correct", "corrects the chosen entry"], Footer),
    line(&[Char('n')], RECORD, Action::NoteOn, ["n", "note", "a note on the chosen entry"], Footer),
    line(&[Other(KeyCode::Right)], RECORD, Action::NextArea, ["\u{2190} \u{2192}", "area", "the entries of another area"], Footer),
    line(&[Other(KeyCode::Left)], RECORD, Action::AreaBefore, ["\u{2190}", "previous area", ""], Shown::Help),
    line(&[Other(KeyCode::Esc), Char('r'), Char('q')], RECORD, Action::Back, ["Esc", "back", "back to the board"], Footer),
    line(&[Other(KeyCode::Up), Char('k')], RECORD, Action::Up, ["\u{2191} k", "up", "chooses the entry above"], Shown::Help),
    line(&[Other(KeyCode::Down), Char('j')], RECORD, Action::Down, ["\u{2193} j", "down", "chooses the entry below"], Shown::Help),
    line(&[Other(KeyCode::PageUp)], RECORD, Action::PageUp, ["PgUp", "ten up", "ten entries up"], Shown::Help),
    line(&[Other(KeyCode::PageDown), Char(' ')], RECORD, Action::PageDown, ["PgDn", "ten down", "ten entries down"], Shown::Help),
    line(&[Other(KeyCode::Esc), Other(KeyCode::Enter), Char('q')], COAT, Action::Back, ["Esc", "back", "back to the record"], Footer),
    line(&[Other(KeyCode::Esc), Char('g'), Char('q')], AMOUNTS, Action::Back, ["Esc", "back", "back to the board"], Footer),
    line(&[Other(KeyCode::Left)], AMOUNTS, Action::PageBefore, ["\u{2190}", "previous page", ""], Shown::Help),
    line(&[Other(KeyCode::Right)], AMOUNTS, Action::NextPage, ["\u{2190} \u{2192}", "page", "another area, all of them, the stock"], Footer),
    line(&[Other(KeyCode::Up), Char('k')], SCROLLED, Action::Up, ["\u{2191} k", "up", "scrolls up"], Footer),
    line(&[Other(KeyCode::Down), Char('j')], SCROLLED, Action::Down, ["\u{2193} j", "down", "scrolls down"], Footer),
    line(&[Other(KeyCode::Esc), Other(KeyCode::Enter), Char('q')], PAGES, Action::Back, ["Esc", "back", "back to the board"], Footer),

    line(&[Control('z')], &Scene::ALL, Action::Suspend, ["Ctrl-Z", "shell", "to the shell; fg comes back"], Shown::Help),
    line(&[Control('l')], &Scene::ALL, Action::Redraw, ["Ctrl-L", "redraw", "draws everything again"], Shown::Help),
    line(&[Control('c')], &Scene::ALL, Action::Quit, ["Ctrl-C", "quit", "quits at once"], Shown::Help),
];

/// What a key does in a scene.
pub fn action(scene: Scene, key: Key) -> Option<Action> {
    bindings(scene).find(|binding| binding.keys.contains(&key)).map(|binding| binding.action)
}

/// The lines of the table that count in a scene.
pub fn bindings(scene: Scene) -> impl Iterator<Item = &'static Binding> {
    TABLE.iter().filter(move |binding| binding.scenes.contains(&scene))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_key_means_two_things_at_once() {
        for scene in Scene::ALL {
            let mut taken: Vec<Key> = Vec::new();
            for key in bindings(scene).flat_map(|binding| binding.keys) {
                assert!(!taken.contains(key), "{key:?} in {scene:?}");
                taken.push(*key);
            }
        }
    }

    #[test]
    fn every_scene_can_be_left() {
        for scene in Scene::ALL {
            assert_eq!(action(scene, Key::Control('c')), Some(Action::Quit), "{scene:?}");
            assert!(action(scene, Key::Other(KeyCode::Esc)).is_some(), "{scene:?}");
        }
    }

    #[test]
    fn letters_in_a_form_are_for_typing() {
        for c in ('a'..='z').chain('0'..='9').chain(['+', '-', '?', ',', '.', ':', ' ']) {
            assert_eq!(action(Scene::Form, Key::Char(c)), None, "{c}");
        }
    }

    #[test]
    fn a_caps_lock_does_not_lock_the_board() {
        let capital = KeyEvent::new(KeyCode::Char('C'), KeyModifiers::SHIFT);
        assert_eq!(Key::of(capital), Some(Key::Char('c')));
        let with_alt = KeyEvent::new(KeyCode::Char('c'), KeyModifiers::ALT);
        assert_eq!(Key::of(with_alt), None);
    }
}
