//! Runs the walk search on one instance from a file and prints the walks as JSON, for measuring it against
//! published values: `solve_instance FILE.json [--effort 10s] [--seed 1] [--told]`. The effort is processor seconds;
//! with `--told` every better plan is told on the way.

use serde::{Deserialize, Serialize};
use std::error::Error;
use std::process::ExitCode;
use std::time::Instant;
use yardring_core::error::Hint as _;
use yardring_core::job::Unwatched;
use yardring_core::walks::{Aim, DayTask, Effort, Standing, Stop, Travel, plan_walks};

#[derive(Deserialize)]
struct Instance {
    aim: String,
    travel: Vec<Vec<f64>>,
    start: usize,
    end: usize,
    crews: usize,
    shift: Option<f64>,
    carry: Option<f64>,
    stops: Vec<InstanceStop>,
}

#[derive(Deserialize)]
struct InstanceStop {
    at: usize,
    service: f64,
    prize: f64,
    must: bool,
    demand: f64,
}

#[derive(Serialize)]
struct Answer {
    objective: f64,
    walks: Vec<Vec<usize>>,
    left_out: Vec<usize>,
}

/// Processor seconds of this thread; where the system does not tell, seconds on the wall.
struct Seconds {
    began: Instant,
    most: f64,
    /// Print each better plan.
    told: bool,
}

impl Seconds {
    fn spent(&self) -> f64 {
        let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
        let nanoseconds = told.as_deref().and_then(|t| t.split_whitespace().next()).and_then(|t| t.parse::<f64>().ok());
        nanoseconds.map_or_else(|| self.began.elapsed().as_secs_f64(), |n| n / 1e9)
    }
}

impl Effort for Seconds {
    fn share_spent(&mut self, _iterations: u64) -> f64 {
        self.spent() / self.most
    }

    fn better(&mut self, standing: Standing, iterations: u64) {
        if self.told {
            eprintln!("{:.3} s, {iterations}: prize {}, travel {}", self.spent(), standing.prize, standing.travel);
        }
    }
}

fn main() -> ExitCode {
    match run() {
        Ok(text) => {
            println!("{text}");
            ExitCode::SUCCESS
        }
        Err(text) => {
            eprintln!("{text}");
            ExitCode::FAILURE
        }
    }
}

fn run() -> Result<String, Box<dyn Error>> {
    let mut arguments = std::env::args().skip(1);
    let (mut file, mut effort, mut seed, mut told) = (None, 10.0, 1, false);
    while let Some(argument) = arguments.next() {
        match argument.as_str() {
            "--effort" => effort = seconds(&arguments.next().unwrap_or_default())?,
            "--seed" => seed = arguments.next().and_then(|s| s.parse().ok()).ok_or("--seed takes a whole number")?,
            "--told" => told = true,
            _ => file = Some(argument),
        }
    }
    let file = file.ok_or("Say which file: solve_instance FILE.json [--effort 10s] [--seed 1]")?;
    let text = std::fs::read_to_string(&file).map_err(|e| format!("{file}: {e}"))?;
    let task = task(serde_json::from_str(&text).map_err(|e| format!("{file}: {e}"))?).map_err(|e| format!("{file}: {e}"))?;
    let mut effort = Seconds { began: Instant::now(), most: effort, told };
    let plan = plan_walks(&task, seed, &mut effort, &Unwatched).map_err(|e| format!("{file}: {e}. {}", e.hint()))?;
    let answer = Answer { objective: plan.objective(task.aim), walks: plan.walks, left_out: plan.left_out };
    Ok(serde_json::to_string(&answer)?)
}

fn seconds(text: &str) -> Result<f64, Box<dyn Error>> {
    let number = text.trim_end_matches('s').parse::<f64>().ok().filter(|s| s.is_finite() && *s > 0.0);
    number.ok_or_else(|| format!("--effort takes seconds, as 10s, not '{text}'").into())
}

fn task(instance: Instance) -> Result<DayTask, Box<dyn Error>> {
    let aim = match instance.aim.as_str() {
        "most prize" => Aim::MostPrize,
        "least travel" => Aim::LeastTravel,
        other => return Err(format!("the aim is 'most prize' or 'least travel', not '{other}'").into()),
    };
    let stop = |s: &InstanceStop| Stop { at: s.at, service: s.service, prize: s.prize, must: s.must, demand: s.demand };
    Ok(DayTask {
        aim,
        travel: Travel::from_rows(&instance.travel).map_err(|e| format!("{e}. {}", e.hint()))?,
        start: instance.start,
        end: instance.end,
        crews: instance.crews,
        shift: instance.shift,
        own_shifts: Vec::new(),
        carry: instance.carry,
        stops: instance.stops.iter().map(stop).collect(),
    })
}
