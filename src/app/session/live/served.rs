//! One channel that this process serves: whether it works, and when to try it again.

use chrono::TimeDelta;

use crate::engine::job::Channel;
use crate::engine::units::Moment;
use crate::io::notifier::{Outlet, Ready};

/// A failed channel rests for so long, then for twice as long, and so on.
const FIRST_REST: TimeDelta = TimeDelta::seconds(5);
/// But not longer than this.
const LONGEST_REST: TimeDelta = TimeDelta::seconds(60);
/// A channel and how it does.
pub(super) struct Served {
    pub(super) outlet: Box<dyn Outlet>,
    failures: u32,
    rest: Option<(Moment, Moment)>,
    pub(super) trouble: Option<String>,
    pub(super) gone: bool,
    /// Whether it has not said yet whether it can take a message.
    pub(super) asked: bool,
}

impl Served {
    pub(super) fn new(outlet: Box<dyn Outlet>) -> Self {
        Self { outlet, failures: 0, rest: None, trouble: None, gone: false, asked: false }
    }

    /// Notices that a reader has left, though there is nothing to send. A desktop comes and goes, and is not
    /// asked before there is something for it.
    pub(super) fn see_whether_gone(&mut self) {
        let may_go = matches!(self.outlet.channel(), Channel::Output | Channel::Terminal);
        if may_go
            && !self.gone
            && let Ready::Gone(why) = self.outlet.ready()
        {
            self.gone = true;
            self.trouble = Some(why);
        }
    }

    pub(super) fn rests_until(&self, now: Moment) -> Option<Moment> {
        // A clock that was put back must not make a rest longer.
        self.rest.filter(|(from, until)| (*from..*until).contains(&now)).map(|(_, until)| until)
    }

    pub(super) fn failed(&mut self, why: String, now: Moment) {
        let rest = FIRST_REST * 2_i32.pow(self.failures.min(8));
        self.failures += 1;
        self.rest = Some((now, now + rest.min(LONGEST_REST)));
        self.trouble = Some(format!("{why} Alerts are sent there again until it accepts them."));
    }

    pub(super) fn succeeded(&mut self) {
        (self.failures, self.rest, self.trouble) = (0, None, None);
    }
}
