//! Which alerts are on the desktop: one popup for each title, so that an area has one. It shows the newest alert
//! first and below it those that are still open.

use std::collections::BTreeSet;

use super::super::{Message, Reply, Ticket};
use crate::engine::job::AlertId;
use crate::io::platform::{Handle, Popup, PopupEvent};

/// A popup shows no more alerts than this.
const MOST: usize = 4;

/// What shows popups.
pub trait Screen {
    /// Shows one, in the place of another where that is still there.
    fn show(&mut self, popup: &Popup, instead_of: Option<&Handle>) -> Result<Handle, String>;
    /// Takes one away.
    fn close(&mut self, handle: &Handle);
}

struct Shown {
    title: String,
    handle: Handle,
    /// Newest first.
    alerts: Vec<(Ticket, String, bool)>,
}

/// The popups of this process that are on the screen.
pub struct Popups<S> {
    screen: S,
    later: Option<String>,
    shown: Vec<Shown>,
}

impl<S: Screen> Popups<S> {
    /// None yet. `later` is what stands on the button; without it there are no buttons.
    pub const fn new(screen: S, later: Option<String>) -> Self {
        Self { screen, later, shown: Vec::new() }
    }

    fn popup(&self, title: &str, alerts: &[(Ticket, String, bool)], sounds: bool) -> Popup {
        let mut lines: Vec<String> = alerts.iter().take(MOST).map(|(_, text, _)| text.clone()).collect();
        if alerts.len() > MOST {
            lines.push(format!("{} more: \"curewright alerts\" shows them all.", alerts.len() - MOST));
        }
        Popup {
            title: title.to_owned(),
            text: lines.join("\n"),
            urgent: alerts.iter().any(|(.., urgent)| *urgent),
            sounds,
            later: self.later.clone(),
        }
    }

    /// Shows an alert, in the popup of its title.
    pub fn show(&mut self, ticket: Ticket, message: &Message) -> Result<(), String> {
        let before = self.shown.iter().position(|shown| shown.title == message.title);
        let mut alerts = vec![(ticket, message.text.clone(), message.urgent)];
        if let Some(before) = before {
            let others = self.shown[before].alerts.iter().filter(|(other, ..)| other.alert != ticket.alert);
            alerts.extend(others.cloned());
        }
        let popup = self.popup(&message.title, &alerts, true);
        let handle = self.screen.show(&popup, before.map(|before| &self.shown[before].handle))?;
        let shown = Shown { title: message.title.clone(), handle, alerts };
        match before {
            Some(before) => self.shown[before] = shown,
            None => self.shown.push(shown),
        }
        Ok(())
    }

    /// Takes away what is not open any more.
    pub fn keep(&mut self, open: &BTreeSet<AlertId>) {
        for mut shown in std::mem::take(&mut self.shown) {
            let before = shown.alerts.len();
            shown.alerts.retain(|(ticket, ..)| open.contains(&ticket.alert));
            if shown.alerts.is_empty() {
                self.screen.close(&shown.handle);
                continue;
            }
            if shown.alerts.len() < before {
                let popup = self.popup(&shown.title, &shown.alerts, false);
                match self.screen.show(&popup, Some(&shown.handle)) {
                    Ok(handle) => shown.handle = handle,
                    // The service has left, and what it showed with it.
                    Err(_) => continue,
                }
            }
            self.shown.push(shown);
        }
    }

    /// What a person has chosen, for each alert of the popup.
    pub fn take(&mut self, event: &PopupEvent) -> Vec<(AlertId, Reply)> {
        let (handle, reply) = match event {
            PopupEvent::Seen(handle) => (handle, Some(Reply::Seen)),
            PopupEvent::Later(handle) => (handle, Some(Reply::Later)),
            PopupEvent::Closed(handle) => (handle, None),
        };
        let Some(at) = self.shown.iter().position(|shown| shown.handle == *handle) else { return Vec::new() };
        let shown = self.shown.swap_remove(at);
        // Alerts that it had no lines for were not seen.
        let read = shown.alerts.into_iter().take(MOST);
        let replies = reply.map(|reply| read.map(|(ticket, ..)| (ticket.alert, reply)).collect());
        if reply.is_some() {
            self.screen.close(handle);
        }
        replies.unwrap_or_default()
    }

    /// This process leaves: nobody is there any more for the buttons.
    pub fn leave(&mut self) {
        if self.later.take().is_none() {
            return;
        }
        for shown in std::mem::take(&mut self.shown) {
            let popup = self.popup(&shown.title, &shown.alerts, false);
            let _ = self.screen.show(&popup, Some(&shown.handle));
        }
    }
}

#[cfg(test)]
mod tests {
    use std::cell::RefCell;
    use std::rc::Rc;

    use super::*;

    /// A screen that numbers what it shows.
    #[derive(Default, Clone)]
    struct Fake(Rc<RefCell<Vec<(u32, Popup)>>>, Rc<RefCell<u32>>);

    impl Screen for Fake {
        fn show(&mut self, popup: &Popup, instead_of: Option<&Handle>) -> Result<Handle, String> {
            let mut there = self.0.borrow_mut();
            let replaced =
                there.iter_mut().find(|(number, _)| instead_of == Some(&Handle::new("fake", *number)));
            if let Some(replaced) = replaced {
                replaced.1 = popup.clone();
                return Ok(Handle::new("fake", replaced.0));
            }
            *self.1.borrow_mut() += 1;
            there.push((*self.1.borrow(), popup.clone()));
            Ok(Handle::new("fake", *self.1.borrow()))
        }

        fn close(&mut self, handle: &Handle) {
            self.0.borrow_mut().retain(|(number, _)| Handle::new("fake", *number) != *handle);
        }
    }

    fn ticket(alert: i64) -> Ticket {
        Ticket { alert: AlertId(alert), repeat: 0 }
    }

    fn message(title: &str, text: &str, urgent: bool) -> Message {
        Message { title: title.into(), text: text.into(), line: text.into(), urgent }
    }

    fn popups() -> (Popups<Fake>, Fake) {
        let screen = Fake::default();
        (Popups::new(screen.clone(), Some("Later: 15 min".into())), screen)
    }

    fn texts(screen: &Fake) -> Vec<String> {
        screen.0.borrow().iter().map(|(_, popup)| popup.text.clone()).collect()
    }

    #[test]
    fn an_area_has_one_popup_with_its_newest_alert_first() {
        let (mut popups, screen) = popups();
        popups.show(ticket(1), &message("roof", "May start.", false)).unwrap();
        popups.show(ticket(2), &message("door", "Sandable.", false)).unwrap();
        popups.show(ticket(3), &message("roof", "The window closes.", true)).unwrap();
        assert_eq!(texts(&screen), ["The window closes.\nMay start.", "Sandable."]);
        assert!(screen.0.borrow()[0].1.urgent, "it stays, since one of its alerts is urgent");
    }

    #[test]
    fn an_alert_that_is_repeated_stands_there_once() {
        let (mut popups, screen) = popups();
        popups.show(ticket(1), &message("roof", "Closes in 30 min.", true)).unwrap();
        popups.show(ticket(1), &message("roof", "Closes in 20 min.", true)).unwrap();
        assert_eq!(texts(&screen), ["Closes in 20 min."]);
    }

    #[test]
    fn what_was_seen_elsewhere_goes_and_makes_no_sound() {
        let (mut popups, screen) = popups();
        popups.show(ticket(1), &message("roof", "May start.", false)).unwrap();
        popups.show(ticket(2), &message("roof", "The window closes.", true)).unwrap();
        popups.keep(&BTreeSet::from([AlertId(1)]));
        assert_eq!(texts(&screen), ["May start."]);
        assert!(!screen.0.borrow()[0].1.sounds && !screen.0.borrow()[0].1.urgent);
        popups.keep(&BTreeSet::new());
        assert_eq!(texts(&screen), Vec::<String>::new());
    }

    #[test]
    fn a_button_answers_for_every_alert_of_its_popup() {
        let (mut popups, screen) = popups();
        popups.show(ticket(1), &message("roof", "a", false)).unwrap();
        popups.show(ticket(2), &message("roof", "b", false)).unwrap();
        let replies = popups.take(&PopupEvent::Later(Handle::new("fake", 1)));
        assert_eq!(replies, [(AlertId(2), Reply::Later), (AlertId(1), Reply::Later)]);
        assert_eq!(popups.take(&PopupEvent::Seen(Handle::new("fake", 1))), [], "it is gone");
        assert_eq!(texts(&screen), Vec::<String>::new());
        // The popup of another program.
        popups.show(ticket(3), &message("door", "c", false)).unwrap();
        assert_eq!(popups.take(&PopupEvent::Seen(Handle::new("another", 2))), []);
    }

    #[test]
    fn a_popup_that_is_only_closed_answers_nothing() {
        let (mut popups, _screen) = popups();
        popups.show(ticket(1), &message("roof", "a", false)).unwrap();
        assert_eq!(popups.take(&PopupEvent::Closed(Handle::new("fake", 1))), []);
    }

    #[test]
    fn what_had_no_line_is_not_answered_for() {
        let (mut popups, screen) = popups();
        for alert in 1..=6 {
            popups.show(ticket(alert), &message("roof", &format!("Alert {alert}."), false)).unwrap();
        }
        let text = texts(&screen).remove(0);
        assert!(
            text.starts_with("Alert 6.\n") && text.ends_with("2 more: \"curewright alerts\" shows them all.")
        );
        let replies = popups.take(&PopupEvent::Seen(Handle::new("fake", 1)));
        assert_eq!(replies.into_iter().map(|(alert, _)| alert.0).collect::<Vec<_>>(), [6, 5, 4, 3]);
    }

    #[test]
    fn a_process_that_leaves_takes_its_buttons_along() {
        let (mut popups, screen) = popups();
        popups.show(ticket(1), &message("roof", "a", true)).unwrap();
        assert!(screen.0.borrow()[0].1.later.is_some());
        popups.leave();
        assert_eq!(texts(&screen), ["a"]);
        assert!(screen.0.borrow()[0].1.later.is_none());
    }
}
