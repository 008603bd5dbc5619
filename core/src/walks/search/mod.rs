//! The search: take strings of stops out, put them back better, and now and then accept what is a little worse.

mod draft;
mod ground;
mod pieces;
mod polish;
pub(super) mod random;
mod recreate;
mod ruin;
#[cfg(test)]
mod trials;
mod walk;

use super::{Aim, DayPlan, DayTask, Effort, Standing, WalkError};
use crate::job::Watch;
use draft::{Draft, OUT};
use ground::{Ground, Node};
use polish::Polish;
use random::Chance;

/// Iterations between two looks at the effort and at the watch.
const LOOK: u64 = 32;
/// Stops in no walk that are tried after each ruin, for most prize.
const TRIED: usize = 60;

/// Plans the walks of one day: a plan at once, better ones until the effort is spent.
///
/// The same task, seed and number of iterations give the same walks; the order of the task's stops means nothing.
///
/// # Source
/// Ruin and recreate by Christiaens and Vanden Berghe (2020), see `ruin`; simulated annealing with a geometric
/// fall of temperature (Kirkpatrick, Gelatt, Vecchi, Science 220, 1983). The temperatures are our own, set on open
/// instances.
///
/// # Errors
/// What [`DayTask::check`] finds; [`WalkError::MustLeftOut`] when no plan with every must stop was found;
/// [`WalkError::Cancelled`] when the watch asks to stop.
///
/// ```
/// use yardring_core::job::Unwatched;
/// use yardring_core::walks::{Aim, DayTask, Iterations, Stop, Travel, plan_walks};
/// // Four places on a line, 60 seconds apart; the crew starts and ends at the first.
/// let travel = Travel::from_rows(&(0..4).map(|a| (0..4).map(|b| 60.0 * f64::abs(f64::from(a - b))).collect()).collect::<Vec<_>>())?;
/// let stop = |at, prize| Stop { at, service: 300.0, prize, must: false, demand: 0.0 };
/// let stops = vec![stop(1, 0.1), stop(2, 0.5), stop(3, 0.4)];
/// let shift = Some(960.0);
/// let task = DayTask { aim: Aim::MostPrize, travel, start: 0, end: 0, crews: 1, shift, own_shifts: vec![], carry: None, stops };
/// let plan = plan_walks(&task, 1, &mut Iterations(100), &Unwatched)?;
/// assert_eq!(plan.left_out, [1]);
/// assert_eq!(plan.standing.prize, 0.9);
/// # Ok::<(), yardring_core::walks::WalkError>(())
/// ```
pub fn plan_walks(task: &DayTask, seed: u64, effort: &mut dyn Effort, watch: &dyn Watch) -> Result<DayPlan, WalkError> {
    let plan = plan_what_fits(task, &[], seed, effort, watch)?;
    let musts = || task.stops.iter().filter(|s| s.must && plan.left_out.contains(&s.at)).map(|s| s.at);
    match musts().min() {
        Some(first) => Err(WalkError::MustLeftOut { missing: musts().count(), first }),
        None => Ok(plan),
    }
}

/// The same, but as many must stops as fit are visited, and the others stand among those left out. Where walks are known already, in any
/// order, the search goes on from them: what comes out is no worse than they are, as far as they fit.
///
/// # Errors
/// As [`plan_walks`], without [`WalkError::MustLeftOut`].
pub(super) fn plan_what_fits(
    task: &DayTask,
    known: &[Vec<usize>],
    seed: u64,
    effort: &mut dyn Effort,
    watch: &dyn Watch,
) -> Result<DayPlan, WalkError> {
    task.check()?;
    let ground = Ground::new(task);
    let mut search = Search::new(&ground, seed);
    if !known.is_empty() {
        search.go_on_from(known);
    }
    if ground.count() > 0 {
        search.run(effort, watch)?;
    }
    Ok(finished(task, &ground, &search.best))
}

fn finished(task: &DayTask, ground: &Ground, best: &Draft) -> DayPlan {
    let place = |n: &Node| ground.stop(*n).at;
    let walks: Vec<Vec<usize>> = best.walks.iter().filter(|w| !w.is_empty()).map(|w| w.stops().iter().map(place).collect()).collect();
    let mut left_out: Vec<usize> = task.stops.iter().map(|s| s.at).filter(|at| !walks.iter().any(|w| w.contains(at))).collect();
    left_out.sort_unstable();
    DayPlan { standing: task.standing(&walks), walks, left_out }
}

/// The search under way.
struct Search<'a> {
    ground: &'a Ground,
    chance: Chance,
    now: Draft,
    best: Draft,
    now_standing: Standing,
    best_standing: Standing,
    /// What a second of travel counts beside a prize.
    second: f64,
    /// What a missing must stop counts.
    miss: f64,
    stops: Vec<Node>,
    polish: Polish,
}

impl<'a> Search<'a> {
    /// The first plan: every stop where it costs least, then shortened.
    fn new(ground: &'a Ground, seed: u64) -> Self {
        let mut chance = Chance::from_seed(seed);
        let mut now = Draft::empty(ground);
        let mut polish = Polish::default();
        let mut stops: Vec<Node> = (0..ground.count() as Node).collect();
        recreate::put_back(ground, &mut now, &mut chance, &mut stops);
        now.recount(ground);
        polish.shorten(ground, &mut now, stops.clone());
        now.accept();
        let standing = now.standing();
        let time: f64 = now.walks.iter().map(|w| w.time).sum();
        let (second, miss) = match ground.aim {
            Aim::MostPrize => (0.1 * standing.prize / time.max(1e-9), 1.0 + standing.prize),
            Aim::LeastTravel => (1.0, 1.0 + standing.travel),
        };
        Self { ground, chance, best: now.clone(), now, now_standing: standing, best_standing: standing, second, miss, stops, polish }
    }

    /// Begins with walks that are known, each a list of places, where they are better than the first plan.
    fn go_on_from(&mut self, known: &[Vec<usize>]) {
        let mut draft = Draft::of_walks(self.ground, known);
        self.polish.shorten(self.ground, &mut draft, (0..self.ground.count() as Node).collect());
        draft.accept();
        let standing = draft.standing();
        if standing.betters(&self.best_standing, self.ground.aim) {
            (self.now_standing, self.best_standing) = (standing, standing);
            self.best.clone_from(&draft);
            self.now = draft;
        }
    }

    /// One number for a standing, less is better.
    fn guide(&self, s: &Standing) -> f64 {
        let prize = if self.ground.aim == Aim::MostPrize { s.prize } else { 0.0 };
        s.missing as f64 * self.miss - prize + self.second * s.travel
    }

    /// The temperatures of the start and of the end, in the unit of [`Self::guide`].
    fn temperatures(&self) -> (f64, f64) {
        let count = self.ground.count() as f64;
        match self.ground.aim {
            Aim::LeastTravel => (3.0 * self.ground.step, 0.03 * self.ground.step),
            Aim::MostPrize => {
                let prize = self.ground.stops.iter().map(|s| s.prize).sum::<f64>() / count;
                (prize, 0.01 * prize)
            }
        }
    }

    /// Searches until the effort is spent; the best is kept.
    fn run(&mut self, effort: &mut dyn Effort, watch: &dyn Watch) -> Result<(), WalkError> {
        let (hot, cold) = self.temperatures();
        let mut temperature = hot;
        effort.better(self.best_standing, 0);
        for iteration in 0.. {
            if iteration % LOOK == 0 {
                let share = effort.share_spent(iteration);
                watch.step("planning walks", (share.clamp(0.0, 1.0) * 1000.0) as u64, 1000)?;
                if share >= 1.0 {
                    break;
                }
                temperature = if hot > 0.0 { hot * (cold / hot).powf(share) } else { 0.0 };
            }
            self.change();
            if self.judge(temperature) {
                effort.better(self.best_standing, iteration + 1);
            }
        }
        Ok(())
    }

    /// Keeps or takes back the last change; says whether the plan is the best so far.
    fn judge(&mut self, temperature: f64) -> bool {
        let new = self.now.standing();
        let worse = self.guide(&new) - self.guide(&self.now_standing);
        if worse >= -temperature * (1.0 - self.chance.share()).ln() {
            self.now.take_back();
            return false;
        }
        self.now.accept();
        self.now_standing = new;
        let better = new.betters(&self.best_standing, self.ground.aim);
        if better {
            self.polish.shorten(self.ground, &mut self.now, self.stops.clone());
            self.now.accept();
            self.now_standing = self.now.standing();
            self.best_standing = self.now_standing;
            self.best.clone_from(&self.now);
        }
        better
    }

    /// One ruin and one recreation.
    fn change(&mut self) {
        let seed = self.chance.below(self.ground.count()) as Node;
        self.stops.clear();
        ruin::take_strings(self.ground, &mut self.now, &mut self.chance, seed, &mut self.stops);
        if self.ground.aim == Aim::MostPrize {
            self.call_up_near(seed);
        }
        for node in &self.now.missing {
            if !self.stops.contains(node) {
                self.stops.push(*node);
            }
        }
        recreate::put_back(self.ground, &mut self.now, &mut self.chance, &mut self.stops);
        self.now.recount(self.ground);
    }

    /// Adds stops near a stop that are in no walk to those that will be put back.
    fn call_up_near(&mut self, seed: Node) {
        let taken = self.stops.len();
        let near = std::iter::once(&seed).chain(self.ground.near(seed));
        let mut left = TRIED;
        for node in near {
            if left == 0 {
                break;
            }
            if self.now.walk_of[*node as usize] == OUT && !self.stops[..taken].contains(node) {
                self.stops.push(*node);
                left -= 1;
            }
        }
    }
}
