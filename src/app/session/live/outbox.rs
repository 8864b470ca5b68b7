//! The outbox: alerts to send, being sent, and sent.
//!
//! An alert is sent on each channel until the channel takes it, a person acknowledges it, or its cause is gone.
//! The job says what other processes have sent; what cannot be written there is kept here until it can.

mod replies;

use std::collections::{BTreeSet, HashMap};

use chrono::TimeDelta;

use super::served::Served;
use super::{LOOK_AGAIN, Session};
use crate::app::wording::Words;
use crate::engine::assess::{Survey, still_matters};
use crate::engine::job::{Alert, AlertId, AlertKind, Channel, Delivery, Raising, clock_was_ahead};
use crate::engine::units::{Moment, clean};
use crate::io::notifier::{Message, Outlet, Ready, Reply, Ticket};
use crate::io::store::{LEASE, StoreError};

/// An alert raised this recently is sent without checking its cause again.
const NEW: TimeDelta = TimeDelta::seconds(60);
/// After this number of failed claims alerts are sent without one.
const PATIENCE: u32 = 2;

/// A process that wakes renews its claims at its first look: it has this many ticks of this process, and this time.
const LOOKS: u32 = 3;
const AWAKE: TimeDelta = TimeDelta::seconds(5);

/// The identity of an alert, whatever its number.
type Key = (AlertKind, String, u32);

fn key(alert: &Alert) -> Key {
    (alert.kind, alert.subject.clone(), alert.round)
}

/// The state of an alert on a channel.
#[derive(Debug, Clone, Copy)]
enum Passage {
    /// Handed to the outlet; the claim was made or renewed at this moment.
    Sending(Ticket, Moment),
    /// The channel took it.
    Sent(Moment),
}

/// A claim that was not renewed in time.
#[derive(Debug, Clone, Copy)]
struct Lapsed {
    claimed: Moment,
    since: Moment,
    looks: u32,
}

impl Lapsed {
    /// Whether its owner had time to renew it after waking up.
    fn is_over(self, now: Moment) -> bool {
        self.looks >= LOOKS && !(self.since..self.since + AWAKE).contains(&now)
    }
}

pub(super) struct Outbox {
    served: Vec<Served>,
    /// Alerts that could not be recorded.
    held: Vec<Alert>,
    /// The number so far.
    counted: i64,
    /// Repetitions that could not be recorded.
    repeated: HashMap<AlertId, (u32, Moment)>,
    passages: HashMap<(Key, Channel), (u32, Passage)>,
    /// What the numbers below zero stand for that were sent.
    sent_unrecorded: HashMap<AlertId, Key>,
    /// What people have chosen and could not be recorded yet.
    replies: Vec<(AlertId, Reply)>,
    /// Deliveries that the job does not know yet.
    unwritten: Vec<(Key, Delivery)>,
    /// Whether it is known what screens have shown before this process started.
    began: bool,
    /// Apparently expired claims of others: the claim, since when, and how often seen.
    lapsed: HashMap<(AlertId, Channel), Lapsed>,
    /// Whether something could not be sent yet.
    waiting: bool,
    held_up: u32,
}

impl Outbox {
    pub(super) fn new(outlets: Vec<Box<dyn Outlet>>) -> Self {
        Self {
            served: outlets.into_iter().map(Served::new).collect(),
            held: Vec::new(),
            counted: 0,
            repeated: HashMap::new(),
            passages: HashMap::new(),
            sent_unrecorded: HashMap::new(),
            replies: Vec::new(),
            unwritten: Vec::new(),
            began: false,
            lapsed: HashMap::new(),
            waiting: false,
            held_up: 0,
        }
    }

    pub(super) fn unrecorded(&self) -> &[Alert] {
        &self.held
    }

    pub(super) fn acknowledge(&mut self, alert: Option<AlertId>, now: Moment) -> usize {
        let open = self.held.iter_mut().filter(|held| held.acknowledged.is_none());
        let chosen = open.filter(|held| alert.is_none_or(|alert| alert == held.id));
        chosen.map(|held| held.acknowledged = Some(now)).count()
    }

    pub(super) fn is_sending(&self) -> bool {
        let sending = |(_, passage): &(u32, Passage)| matches!(passage, Passage::Sending(..));
        self.passages.values().any(sending)
            || self.served.iter().any(|served| served.asked)
            || !self.lapsed.is_empty()
    }

    /// Whether there is work without a change.
    pub(super) fn is_busy(&self) -> bool {
        self.waiting || self.is_sending() || !self.unwritten.is_empty() || !self.held.is_empty()
    }

    /// The faults of the channels. A reader that has left is detected here.
    pub(super) fn troubles(&mut self) -> Vec<String> {
        self.served.iter_mut().for_each(Served::see_whether_gone);
        self.served.iter().filter_map(|served| served.trouble.clone()).collect()
    }

    pub(super) fn all_gone(&self) -> Option<String> {
        let gone = |served: &Served| served.gone.then(|| served.trouble.clone().unwrap_or_default());
        let gone: Option<Vec<String>> = self.served.iter().map(gone).collect();
        gone.filter(|gone| !gone.is_empty()).map(|gone| gone.join(" "))
    }

    /// Another job is followed: the state of the last one does not apply.
    pub(super) fn forget(&mut self) {
        self.held.clear();
        self.repeated.clear();
        self.passages.clear();
        self.unwritten.clear();
        self.lapsed.clear();
        self.sent_unrecorded.clear();
        self.replies.clear();
        // The numbers of another job's alerts mean others.
        self.served.iter_mut().for_each(|served| served.outlet.keep(&BTreeSet::new()));
    }

    /// When the next work is due, as far as known.
    pub(super) fn next(&self, now: Moment) -> Option<Moment> {
        let soon = self.is_sending() || !self.unwritten.is_empty();
        let retry = self.served.iter().filter_map(|served| served.rests_until(now)).min();
        match (soon, self.waiting) {
            (true, _) => Some(now + LOOK_AGAIN),
            (false, true) => Some(retry.unwrap_or(now + LOOK_AGAIN)),
            (false, false) => None,
        }
    }

    /// Keeps due alerts that cannot be recorded.
    pub(super) fn hold(&mut self, due: &Raising, repeat: TimeDelta, recorded: &[Alert], now: Moment) {
        for new in &due.raise {
            let same = |held: &&mut Alert| {
                (held.kind, &held.subject, held.round) == (new.kind, &new.subject, new.round)
            };
            if let Some(held) = self.held.iter_mut().find(same) {
                if held.kind.insists() && !(held.wanted..held.wanted + repeat).contains(&now) {
                    (held.repeat, held.wanted) = (held.repeat + 1, now);
                }
                continue;
            }
            // A number is never reused: an answer may come after the alert has been recorded.
            self.counted += 1;
            self.held.push(Alert {
                id: AlertId(-self.counted),
                kind: new.kind,
                subject: new.subject.clone(),
                round: new.round,
                area: new.area.clone(),
                due: new.due,
                raised: now,
                repeat: 0,
                wanted: now,
                acknowledged: None,
                text: new.text.clone(),
            });
        }
        for id in &due.again {
            let Some(alert) = recorded.iter().find(|alert| alert.id == *id) else { continue };
            let last = self.repeated.get(id).copied().unwrap_or((alert.repeat, alert.wanted));
            if !(last.1..last.1 + repeat).contains(&now) {
                self.repeated.insert(*id, (last.0 + 1, now));
            }
        }
    }

    /// Sends due messages and records their results; true if a screen has something new.
    pub(super) fn deliver(
        &mut self,
        session: &mut Session<'_>,
        survey: &Survey<'_>,
        now: Moment,
        troubles: &mut Vec<String>,
    ) -> bool {
        let read = session
            .alerts()
            .and_then(|alerts| Ok((alerts, session.open_deliveries()?, session.put_off_alerts(now)?)));
        let was_read = read.is_ok();
        let (mut alerts, deliveries, put_off) = read.unwrap_or_else(|error| {
            troubles.push(error.to_string());
            Default::default()
        });
        self.held.retain(|held| !alerts.iter().any(|alert| key(alert) == key(held)));
        self.repeated
            .retain(|id, (repeat, _)| alerts.iter().any(|alert| alert.id == *id && alert.repeat < *repeat));
        for alert in &mut alerts {
            if let Some((repeat, wanted)) = self.repeated.get(&alert.id) {
                (alert.repeat, alert.wanted) = (*repeat, *wanted);
            }
        }
        alerts.extend(self.held.iter().cloned());
        if !std::mem::replace(&mut self.began, true) {
            self.remember_screens(&alerts, &deliveries);
        }
        self.take_outcomes(session, now);
        self.write_deliveries(session, &alerts, troubles);
        let is_put_off = |alert: &&Alert| put_off.iter().any(|snooze| snooze.alert == alert.id);
        let wanted: Vec<&Alert> = alerts
            .iter()
            .filter(|alert| is_wanted(survey, alert, &alerts, now) && !is_put_off(alert))
            .collect();
        if was_read {
            self.take_away(&wanted);
        }
        self.waiting = false;
        let mut rings = false;
        for index in 0..self.served.len() {
            let sent = self.serve(index, session, survey, &wanted, &deliveries, now, troubles);
            rings |= sent && self.served[index].outlet.channel() == Channel::Screen;
        }
        // An immediate delivery is recorded at once.
        self.take_outcomes(session, now);
        self.write_deliveries(session, &alerts, troubles);
        self.renew(session, now);
        let keys: Vec<Key> = alerts.iter().filter(|alert| alert.acknowledged.is_none()).map(key).collect();
        self.passages
            .retain(|(key, _), (_, passage)| matches!(passage, Passage::Sending(..)) || keys.contains(key));
        rings
    }

    /// Serves one channel; true if it got a message.
    #[expect(clippy::too_many_arguments, reason = "one step of the method above")]
    fn serve(
        &mut self,
        index: usize,
        session: &mut Session<'_>,
        survey: &Survey<'_>,
        wanted: &[&Alert],
        deliveries: &[Delivery],
        now: Moment,
        troubles: &mut Vec<String>,
    ) -> bool {
        let channel = self.served[index].outlet.channel();
        let open: Vec<&Alert> =
            wanted.iter().copied().filter(|alert| self.is_open(alert, channel, deliveries, now)).collect();
        let served = &mut self.served[index];
        served.asked = false;
        if open.is_empty() || served.gone {
            self.lapsed.retain(|(_, of), _| *of != channel);
            return false;
        }
        self.waiting = true;
        if served.rests_until(now).is_some() {
            return false;
        }
        match served.outlet.ready() {
            Ready::Yes => {}
            Ready::Later => {
                served.asked = true;
                return false;
            }
            Ready::No(why) | Ready::Gone(why) => {
                served.failed(why, now);
                return false;
            }
        }
        let claimed = self.claim(session, channel, &open, now, troubles);
        let mut sent = false;
        for alert in open {
            if alert.id.0 > 0 && !claimed.contains(&alert.id) {
                continue;
            }
            let ticket = Ticket { alert: alert.id, repeat: alert.repeat };
            let message = message(survey, alert, session.words(), now);
            self.served[index].outlet.send(ticket, message);
            if alert.id.0 < 0 {
                self.sent_unrecorded.insert(alert.id, key(alert));
            }
            self.passages.insert((key(alert), channel), (alert.repeat, Passage::Sending(ticket, now)));
            sent = true;
        }
        sent
    }

    /// The alerts for this process on this channel. If the job cannot be written, all of them.
    fn claim(
        &mut self,
        session: &mut Session<'_>,
        channel: Channel,
        open: &[&Alert],
        now: Moment,
        troubles: &mut Vec<String>,
    ) -> Vec<AlertId> {
        let recorded = open.iter().filter(|alert| alert.id.0 > 0);
        let all: Vec<(AlertId, u32)> = recorded.map(|alert| (alert.id, alert.repeat)).collect();
        let ids = all.iter().map(|(id, _)| *id).collect();
        if !channel.is_shared() || all.is_empty() {
            return ids;
        }
        // An unrecorded repetition cannot be claimed.
        let unknown = ids_of(&all, |id| self.repeated.contains_key(&id));
        let known: Vec<_> = all.into_iter().filter(|(id, _)| !unknown.contains(id)).collect();
        let claimed = session.writer().and_then(|store| {
            let lapsed = self.lapsed(channel, &store.open_claims(channel)?, &known, now);
            store.claim(channel, &known, &lapsed, now)
        });
        match claimed {
            Ok(claimed) => {
                self.held_up = 0;
                claimed.into_iter().chain(unknown).collect()
            }
            Err(StoreError::Locked { .. }) if self.held_up < PATIENCE => {
                self.held_up += 1;
                unknown
            }
            Err(error) => {
                troubles.push(format!("The record of sent alerts cannot be written: {error}."));
                ids
            }
        }
    }

    /// The claims whose owners have apparently died.
    fn lapsed(
        &mut self,
        channel: Channel,
        claims: &[(AlertId, u32, Moment)],
        wanted: &[(AlertId, u32)],
        now: Moment,
    ) -> Vec<(AlertId, Moment)> {
        let mut over = Vec::new();
        let (here, elsewhere) =
            std::mem::take(&mut self.lapsed).into_iter().partition(|((_, of), _)| *of == channel);
        let before: HashMap<(AlertId, Channel), Lapsed> = here;
        self.lapsed = elsewhere;
        for (id, repeat, claimed) in claims {
            let stands = *claimed + LEASE > now && !clock_was_ahead(*claimed, now);
            if stands || !wanted.contains(&(*id, *repeat)) {
                continue;
            }
            let known = before.get(&(*id, channel)).filter(|known| known.claimed == *claimed);
            let known = known.copied().unwrap_or(Lapsed { claimed: *claimed, since: now, looks: 0 });
            let seen = Lapsed { looks: known.looks + 1, ..known };
            match seen.is_over(now) {
                true => over.push((*id, *claimed)),
                false => drop(self.lapsed.insert((*id, channel), seen)),
            }
        }
        over
    }

    /// Whether this process still has to send an alert to a channel.
    fn is_open(&self, alert: &Alert, channel: Channel, deliveries: &[Delivery], now: Moment) -> bool {
        let here = self.passages.get(&(key(alert), channel)).is_some_and(|(repeat, passage)| match passage {
            Passage::Sending(..) => true,
            Passage::Sent(at) => *repeat >= alert.repeat && !clock_was_ahead(*at, now),
        });
        let there = channel.is_shared()
            && deliveries.iter().any(|delivery| {
                (delivery.alert, delivery.channel) == (alert.id, channel)
                    && delivery.repeat >= alert.repeat
                    && !clock_was_ahead(delivery.sent, now)
            });
        !here && !there
    }

    fn take_outcomes(&mut self, session: &mut Session<'_>, now: Moment) {
        for served in &mut self.served {
            let channel = served.outlet.channel();
            for (ticket, outcome) in served.outlet.outcomes() {
                let is_it = |((_, other), (_, passage)): &(&(Key, Channel), &(u32, Passage))| {
                    *other == channel && matches!(passage, Passage::Sending(sending, _) if *sending == ticket)
                };
                let Some(found) = self.passages.iter().find(is_it).map(|(found, _)| found.clone()) else {
                    continue;
                };
                match outcome {
                    Ok(()) => {
                        served.succeeded();
                        self.passages.insert(found.clone(), (ticket.repeat, Passage::Sent(now)));
                        let Ticket { alert, repeat } = ticket;
                        self.unwritten.push((found.0, Delivery { alert, repeat, channel, sent: now }));
                    }
                    Err(why) => {
                        served.failed(why, now);
                        self.passages.remove(&found);
                        if channel.is_shared() && ticket.alert.0 > 0 {
                            // If this write fails, the claim expires.
                            let _ = session
                                .writer()
                                .and_then(|store| store.release(channel, ticket.alert, ticket.repeat));
                        }
                    }
                }
            }
        }
    }

    /// Records deliveries as soon as the job can be written and has the alert.
    fn write_deliveries(&mut self, session: &mut Session<'_>, alerts: &[Alert], troubles: &mut Vec<String>) {
        if self.unwritten.is_empty() {
            return;
        }
        self.unwritten.retain(|(sent, _)| alerts.iter().any(|alert| key(alert) == *sent));
        let id = |sent: &Key| alerts.iter().find(|alert| key(alert) == *sent && alert.id.0 > 0);
        let known: Vec<Delivery> = self
            .unwritten
            .iter()
            .filter_map(|(sent, delivery)| Some(Delivery { alert: id(sent)?.id, ..*delivery }))
            .collect();
        if known.is_empty() {
            return;
        }
        match session.writer().and_then(|store| store.record_sent(&known)) {
            Ok(()) => self.unwritten.retain(|(sent, _)| id(sent).is_none()),
            Err(error) => troubles.push(format!("The record of sent alerts cannot be written: {error}.")),
        }
    }

    /// Renews the claims of messages being sent.
    fn renew(&mut self, session: &mut Session<'_>, now: Moment) {
        for ((_, channel), (_, passage)) in &mut self.passages {
            let Passage::Sending(ticket, since) = passage else { continue };
            let is_fresh = (*since..*since + LEASE / 2).contains(&now);
            if is_fresh || !channel.is_shared() || ticket.alert.0 <= 0 {
                continue;
            }
            let renewed = session.writer().and_then(|store| store.renew(*channel, ticket.alert, now));
            if renewed.is_ok() {
                *since = now;
            }
        }
    }

    /// A message that a screen has shown before is not new.
    fn remember_screens(&mut self, alerts: &[Alert], deliveries: &[Delivery]) {
        for delivery in deliveries.iter().filter(|delivery| delivery.channel == Channel::Screen) {
            if let Some(alert) = alerts.iter().find(|alert| alert.id == delivery.alert) {
                let shown = (delivery.repeat, Passage::Sent(delivery.sent));
                self.passages.insert((key(alert), Channel::Screen), shown);
            }
        }
    }
}

fn ids_of(alerts: &[(AlertId, u32)], which: impl Fn(AlertId) -> bool) -> Vec<AlertId> {
    alerts.iter().map(|(id, _)| *id).filter(|id| which(*id)).collect()
}

/// Whether an alert has to be sent: it is not acknowledged, and neither a newer one nor events have replaced
/// it.
fn is_wanted(survey: &Survey<'_>, alert: &Alert, alerts: &[Alert], now: Moment) -> bool {
    if alert.acknowledged.is_some() || clock_was_ahead(alert.raised, now) {
        return false;
    }
    let newer = |other: &Alert| {
        (other.kind, &other.subject) == (alert.kind, &alert.subject)
            && other.round > alert.round
            && !clock_was_ahead(other.raised, now)
    };
    !alerts.iter().any(newer) && (now - alert.raised < NEW || still_matters(survey, alert, now))
}

fn message(survey: &Survey<'_>, alert: &Alert, words: &Words, now: Moment) -> Message {
    let title = alert.area.as_ref().map_or_else(|| "curewright".into(), |area| format!("curewright: {area}"));
    let text = clean(&words.alert_now(survey, alert, now));
    let line = format!("{}  {text}", words.when(now, now));
    Message { title: clean(&title), text, line, urgent: alert.kind.insists() }
}
