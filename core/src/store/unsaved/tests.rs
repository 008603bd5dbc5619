//! What is kept comes back, whenever the program breaks off.

use super::*;
use crate::job::Unwatched;
use crate::place::{Frame, LonLat};
use crate::store::{Edit, History, made_up};
use crate::survey::{Find, HandChange, KindId, LogStep, Outcome, PremiseId, Round, RoundId, Said, Visit, When};
use jiff::civil::date;
use proptest::prelude::*;
use std::sync::Arc;

const OWN: &str = "own";

/// A folder with a saved survey, and a window on it.
struct Office {
    folder: tempfile::TempDir,
    survey: Survey,
    history: History,
    keeper: Keeper,
    whole: bool,
}

impl Office {
    fn opened() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let mut survey = made_up::squares(30);
        survey.rounds = Arc::new(vec![Round { name: "Round 1".into(), first: date(2025, 7, 1), last: date(2025, 7, 1) }]);
        survey.kinds = Arc::new(vec!["bucket".into()]);
        save(&survey, &folder.path().join("Mill.gpkg"), &Unwatched).unwrap();
        let keeper = Keeper::new(UnsavedPlace::of_file(&folder.path().join("Mill.gpkg"), &folder.path().join(OWN)), 7);
        Self { folder, survey, history: History::default(), keeper, whole: false }
    }

    fn path(&self) -> PathBuf {
        self.folder.path().join("Mill.gpkg")
    }

    fn stamp(&self) -> Stamp {
        Stamp::of(&self.path())
    }

    fn perform(&mut self, edit: Edit) {
        self.history.perform(&mut self.survey, edit).unwrap();
    }

    fn keep(&mut self) {
        let (steps, words) = (self.history.take_steps(), self.history.unsaved_words());
        let what = ToKeep { survey: &self.survey, stamp: Stamp::of(&self.path()), steps: &steps, words: &words, whole: self.whole };
        self.keeper.keep(what, &Unwatched).unwrap();
        self.whole = false;
    }

    fn save(&mut self) {
        save(&self.survey, &self.path(), &Unwatched).unwrap();
        self.history.mark_saved();
        self.history.take_steps();
        self.keeper.end();
    }

    /// What somebody finds who opens the survey after this window broke off.
    fn broken_off(&mut self) -> (Option<Found>, Survey) {
        // The system lets go of what the program held.
        if let Some(kept) = &self.keeper.now {
            kept.lines.unlock().unwrap();
        }
        let left = look_for_unsaved(&UnsavedPlace::of_file(&self.path(), &self.folder.path().join(OWN)));
        let file = crate::store::load(&self.path(), crate::store::Parts::EVERYTHING, &Unwatched).unwrap();
        assert!(left.found.len() <= 1 && left.elsewhere == 0);
        (left.found.into_iter().next(), file)
    }

    fn files(&self) -> usize {
        fs::read_dir(self.folder.path()).unwrap().count()
    }
}

fn entered(survey: &Survey, premise: u32, id: &str, wet: u32) -> Edit {
    let find = Find {
        kind: KindId(0),
        count: wet + 1,
        wet,
        with_larvae: 1,
        with_pupae: 0,
        pupae: 0,
        stage: Some(crate::survey::Stage::L3),
        litres: Some(0.1),
        action: Some(crate::survey::Action::Emptied),
        remains: true,
    };
    let visit = Visit {
        id: id.into(),
        premise: PremiseId(premise),
        when: When { day: date(2025, 7, 1), time: Some(jiff::civil::time(8, 50, 0, 0)) },
        outcome: Outcome::Inspected,
        round: RoundId(0),
        crew: "A, \"B\"\n".into(),
        said: Said::marked(Said::with_minutes("Saturday", "dog", Some(12)), true),
        finds: 0..0,
    };
    Edit::visit(HandChange {
        premise: PremiseId(premise),
        was: survey.visits.at(PremiseId(premise)).iter().any(|v| *v.id == *id).then(|| id.into()),
        becomes: Some((visit, vec![find])),
        rounds: Arc::clone(&survey.rounds),
        kinds: Arc::clone(&survey.kinds),
        log: LogStep::Add("entered".into()),
        taken_away: None,
    })
}

/// What somebody does between two looks at the clock.
#[derive(Clone, Debug)]
enum Deed {
    Rename(u8),
    Enter(u32, u8, u32),
    BringIn,
    Undo,
    Redo,
    Keep,
    Save,
}

fn deed() -> impl Strategy<Value = Deed> {
    prop_oneof![
        2 => (0u8..3).prop_map(Deed::Rename),
        5 => (0u32..30, 0u8..3, 1u32..5).prop_map(|(p, id, wet)| Deed::Enter(p, id, wet)),
        1 => Just(Deed::BringIn),
        2 => Just(Deed::Undo),
        2 => Just(Deed::Redo),
        3 => Just(Deed::Keep),
        1 => Just(Deed::Save),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    /// Any changes, kept now and then, and a break after the last keeping: what is taken back in is the survey without the break.
    #[test]
    fn what_is_taken_back_in_is_the_survey_as_it_was(deeds in proptest::collection::vec(deed(), 1..25)) {
        let mut office = Office::opened();
        for deed in deeds {
            match deed {
                Deed::Rename(n) => office.perform(Edit::rename(&n.to_string())),
                Deed::Enter(premise, id, wet) => office.perform(entered(&office.survey, premise, &format!("v{id}"), wet)),
                Deed::BringIn => {
                    let mut becomes = office.survey.clone();
                    becomes.kinds = Arc::new(vec!["bucket".into(), format!("kind {}", becomes.kinds.len()).into()]);
                    office.perform(Edit::Columns { what: "Bring in visits.csv".into(), becomes: Box::new(becomes) });
                }
                Deed::Undo => drop(office.history.undo(&mut office.survey).unwrap()),
                Deed::Redo => drop(office.history.redo(&mut office.survey).unwrap()),
                Deed::Keep => office.keep(),
                Deed::Save => office.save(),
            }
        }
        office.keep();
        let stamp = office.stamp();
        let (found, file) = office.broken_off();
        let after = found.as_ref().map_or_else(|| file.clone(), |f| f.taken_in(Some(&file), stamp, &Unwatched).unwrap());
        prop_assert_eq!(after, office.survey.clone());
        prop_assert!(found.is_some() || !office.keeper.keeps());
        found.iter().for_each(Found::remove);
        prop_assert_eq!(office.files(), 1, "nothing stays behind");
    }
}

/// Cut at every 997th byte, and near every end of a line: each time the changes up to some whole line, or a word that nothing can be read.
#[test]
fn lines_that_were_cut_give_what_came_before_the_cut() {
    let mut office = Office::opened();
    let mut states = vec![office.survey.clone()];
    for i in 0..12 {
        office.perform(entered(&office.survey, i % 5, &format!("v{i}"), i + 1));
        office.keep();
        states.push(office.survey.clone());
    }
    let kept = office.keeper.now.as_ref().unwrap().path.clone();
    let whole = fs::read(&kept).unwrap();
    let ends = whole.iter().enumerate().filter(|(_, b)| **b == b'\n').flat_map(|(i, _)| [i, i + 1]);
    let mut seen = std::collections::BTreeSet::new();
    for cut in (0..whole.len()).step_by(997).chain(ends) {
        fs::write(&kept, &whole[..cut]).unwrap();
        let stamp = office.stamp();
        let (found, file) = office.broken_off();
        let found = found.unwrap();
        let Some(words) = found.words() else {
            assert!(!whole[..cut].contains(&b'\n') && !found.fits(stamp));
            let told = found.taken_in(Some(&file), stamp, &Unwatched).unwrap_err().to_string();
            assert!(told.contains("cannot be read"), "{told}");
            continue;
        };
        assert_eq!(words[0].0, "Enter a visit");
        let after = found.taken_in(Some(&file), stamp, &Unwatched).unwrap();
        let at = states.iter().position(|s| *s == after).unwrap();
        let lines = whole[..cut].iter().filter(|b| **b == b'\n').count();
        assert_eq!((at, found.is_cut()), (lines - 1, cut == 0 || whole[cut - 1] != b'\n' || lines == 1), "cut at {cut}");
        seen.insert(at);
    }
    assert_eq!(seen.len(), states.len());
}

#[test]
fn spoiled_bytes_never_stop_anybody() {
    let mut office = Office::opened();
    office.perform(entered(&office.survey, 3, "v", 2));
    office.keep();
    let (kept, stamp) = (office.keeper.now.as_ref().unwrap().path.clone(), office.stamp());
    let whole = fs::read(&kept).unwrap();
    for at in (0..whole.len()).step_by(7) {
        let mut spoiled = whole.clone();
        spoiled[at] ^= 1 << (at % 8);
        fs::write(&kept, &spoiled).unwrap();
        let (found, file) = office.broken_off();
        let after = found.unwrap().taken_in(Some(&file), stamp, &Unwatched);
        assert!(after.is_err() || after.as_ref().is_ok_and(|s| *s == file), "a spoiled line counts for nothing");
    }
}

#[test]
fn changes_of_an_older_file_are_never_laid_over_a_newer_one() {
    let mut office = Office::opened();
    office.perform(entered(&office.survey, 3, "v", 2));
    office.keep();
    let newer = made_up::squares(31);
    save(&newer, &office.path(), &Unwatched).unwrap();
    let stamp = office.stamp();
    let (found, file) = office.broken_off();
    let found = found.unwrap();
    assert!(!found.fits(stamp) && found.words().is_some());
    assert!(matches!(found.taken_in(Some(&file), stamp, &Unwatched), Err(StoreError::OtherUnsaved { .. })));
}

#[test]
fn two_windows_keep_theirs_apart_and_an_open_one_is_left_alone() {
    let mut office = Office::opened();
    let places = UnsavedPlace::of_file(&office.path(), &office.folder.path().join(OWN));
    let (edit, stamp) = (Edit::rename("other"), office.stamp());
    let mut other = Keeper::new(places.clone(), 8);
    let steps = [Step::Small(edit.clone())];
    other.keep(ToKeep { survey: &office.survey, stamp, steps: &steps, words: &[(edit.words(), 1)], whole: false }, &Unwatched).unwrap();
    office.perform(Edit::rename("mine"));
    office.keep();
    let both = look_for_unsaved(&places);
    assert_eq!((both.found.len(), both.elsewhere), (0, 2), "both windows are open");
    drop(other);
    let one = look_for_unsaved(&places);
    assert_eq!((one.found.len(), one.elsewhere), (1, 1));
    let again = look_for_unsaved(&places);
    assert_eq!((again.found.len(), again.elsewhere), (0, 2), "what somebody looks at is nobody else's");
    let after = one.found[0].taken_in(Some(&office.survey), stamp, &Unwatched).unwrap();
    assert_eq!(after.settings.get("name").map(|n| &**n), Some("other"));
    one.found[0].remove();
    office.keeper.end();
    assert_eq!(office.files(), 1);
}

#[test]
fn a_new_survey_and_one_whose_folder_is_closed_are_kept_in_the_users_own() {
    let office = Office::opened();
    let own = office.folder.path().join(OWN);
    let new = UnsavedPlace::of_new(&own);
    let mut keeper = Keeper::new(new.clone(), 9);
    let words = [("Bring in parcels.shp".to_owned(), 1)];
    let nothing = Survey::empty(Frame::centred_on(LonLat { lon: 0.0, lat: 0.0 }));
    let stamp = Stamp::default();
    keeper.keep(ToKeep { survey: &office.survey, stamp, steps: &[Step::Whole], words: &words, whole: false }, &Unwatched).unwrap();
    drop(keeper);
    let found = look_for_unsaved(&new).found;
    assert_eq!(found[0].words(), Some(&words[..]));
    assert_eq!(found[0].taken_in(Some(&nothing), stamp, &Unwatched).unwrap(), office.survey);
    // A folder that is no folder can be written in by nobody, not even by the superuser.
    let closed = office.folder.path().join("closed");
    fs::write(&closed, "").unwrap();
    let places = UnsavedPlace::of_file(&closed.join("a.gpkg"), &own);
    let mut keeper = Keeper::new(places.clone(), 10);
    let steps = [Step::Small(Edit::rename("x"))];
    keeper.keep(ToKeep { survey: &nothing, stamp, steps: &steps, words: &words, whole: false }, &Unwatched).unwrap();
    drop(keeper);
    assert_eq!(look_for_unsaved(&places).found.len(), 1);
    assert_eq!(look_for_unsaved(&new).found.len() + found.len(), 1, "names do not mix");
}
