//! What people choose on the channels: that an alert was seen, or is to come again later.

use std::collections::BTreeSet;

use super::{Outbox, key};
use crate::app::session::Session;
use crate::engine::job::{Alert, AlertId};
use crate::engine::units::Moment;
use crate::io::notifier::Reply;

impl Outbox {
    /// Does what people have chosen since the last call; true where that has changed something. What cannot be
    /// written is tried again.
    pub(in crate::app::session::live) fn take_replies(
        &mut self,
        session: &mut Session<'_>,
        now: Moment,
        troubles: &mut Vec<String>,
    ) -> bool {
        let heard: Vec<_> = self.served.iter_mut().flat_map(|served| served.outlet.replies()).collect();
        self.replies.extend(heard);
        if self.replies.is_empty() {
            return false;
        }
        let Ok(alerts) = session.alerts() else { return false };
        let mut changed = false;
        for (id, reply) in std::mem::take(&mut self.replies) {
            let id = self.number_now(id, &alerts);
            if id.0 < 0 {
                // One that is not in the job cannot be put off: it comes again when it would.
                changed |= reply == Reply::Seen && self.acknowledge(Some(id), now) > 0;
                continue;
            }
            if !alerts.iter().any(|alert| alert.id == id && alert.acknowledged.is_none()) {
                continue;
            }
            let done = match reply {
                Reply::Seen => {
                    session.writer().and_then(|store| store.acknowledge(Some(id), now)).map_err(Into::into)
                }
                Reply::Later => session.put_off(id, now).map(|_| 1),
            };
            match done {
                Ok(_) => changed = true,
                Err(error) => {
                    troubles.push(format!("The answer to an alert cannot be recorded: {error}."));
                    self.replies.push((id, reply));
                }
            }
        }
        changed
    }

    /// The number of an alert that was sent before it could be recorded, if it is recorded now.
    fn number_now(&self, id: AlertId, alerts: &[Alert]) -> AlertId {
        let recorded =
            self.sent_unrecorded.get(&id).and_then(|sent| alerts.iter().find(|alert| key(alert) == *sent));
        recorded.map_or(id, |alert| alert.id)
    }

    /// Tells the channels which alerts are still open: what they show of others goes.
    pub(super) fn take_away(&mut self, wanted: &[&Alert]) {
        let mut open: BTreeSet<AlertId> = wanted.iter().map(|alert| alert.id).collect();
        let unrecorded = self.sent_unrecorded.iter();
        open.extend(
            unrecorded.filter(|(_, sent)| wanted.iter().any(|alert| key(alert) == **sent)).map(|(id, _)| *id),
        );
        for served in &mut self.served {
            served.outlet.keep(&open);
        }
    }
}
