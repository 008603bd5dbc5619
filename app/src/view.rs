//! What panels may look at.

use crate::jobs::JobKind;
use crate::session::{Answer, Open, Outlook, ReachAnswer, RoundPicture, Session};
use crate::ui::waiting::Progress;
use std::sync::Arc;
use yardring_core::foresee::Chance;
use yardring_core::survey::{Marking, PremiseId, Survey};

/// The window's state, to read.
#[derive(Clone, Copy, Debug)]
pub struct View<'a> {
    /// What the window knows.
    pub session: &'a Session,
    /// What is being worked out.
    pub jobs: &'a crate::jobs::Jobs<Answer>,
}

impl<'a> View<'a> {
    /// The open survey.
    pub fn open(&self) -> Option<&'a Open> {
        self.session.open.as_ref()
    }

    /// The survey's columns.
    pub fn survey(&self) -> Option<&'a Survey> {
        self.session.open.as_ref().map(|o| &*o.survey)
    }

    /// The round's picture, when it fits the survey as it is now.
    pub fn round(&self) -> Option<&'a Arc<RoundPicture>> {
        self.session.round.exactly(self.session.round_key().as_ref())
    }

    /// Reach and gaps, when they rest on the round as it is now; they may answer an earlier radius.
    pub fn reach(&self) -> Option<&'a Arc<ReachAnswer>> {
        self.session.reach.latest().filter(|_| self.session.reach.key().map(|k| k.round) == self.session.round_key())
    }

    /// The chances of the round as it is now, or why there are none; `None` while they are not worked out.
    pub fn outlook(&self) -> Option<&'a Outlook> {
        self.session.outlook.exactly(self.session.round_key().as_ref()).map(|o| &**o)
    }

    /// Whether chances come by themselves, be they at work or about to be; otherwise somebody has to ask.
    pub fn chances_come(&self) -> bool {
        let asked = self.session.round_key().is_some_and(|k| !self.session.outlook.wants(&k));
        self.jobs.at_work(JobKind::Foresee) || (self.session.may_foresee() && !asked)
    }

    /// The chance at a premise, where chances are shown and nobody inspected it.
    pub fn chance(&self, premise: PremiseId) -> Option<&'a Chance> {
        self.outlook()?.as_ref().ok()?.at(premise)
    }

    /// Whether reach and gaps answer exactly what is asked now.
    pub fn reach_is_fresh(&self) -> bool {
        self.session.reach.exactly(self.session.reach_key().as_ref()).is_some()
    }

    /// Whether the reach shown is drawn from the mask of cases.
    pub fn masked(&self) -> bool {
        self.session.reach.key().is_some_and(crate::session::ReachKey::masks)
    }

    /// How a premise is marked.
    pub fn marking(&self, premise: PremiseId) -> Option<Marking> {
        self.round().and_then(|r| r.markings.get(premise.row()).copied())
    }

    /// How far a job is, once it has been at work long enough to be shown.
    pub fn progress(&self, kind: JobKind) -> Option<Progress> {
        self.jobs.progress(kind)
    }

    /// A premise's address, or its parcel id where it has none.
    pub fn name_of(&self, premise: PremiseId) -> &'a str {
        let Some(survey) = self.survey() else { return "" };
        match survey.premises.address.get(premise.row()) {
            "" => survey.premises.parcel_id.get(premise.row()),
            address => address,
        }
    }
}
