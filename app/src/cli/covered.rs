//! How much of the reach was seen and what a day's work would close, as `reach` and `gaps` tell it.

use serde_json::{Value, json};
use yardring_core::reach::Covered;

/// One sentence or two; nothing where no yard lies inside. A person sees so many doors a day.
pub fn covered_in_words(covered: &Covered, doors: f64) -> String {
    let (Some(share), Some(a_day)) = (covered.share(), covered.share_a_day(doors)) else { return String::new() };
    format!(
        "Of {} yards inside, {:.0} % were inspected. At {doors} doors a day each person closes {:.1} % of the reach a day: {:.1} days of \
         one person are left.\n",
        covered.inside,
        share * 100.0,
        a_day * 100.0,
        covered.days_left(doors)
    )
}

/// The same for machines, put into an answer.
pub fn put_covered(answer: &mut Value, covered: &Covered, doors: f64) {
    answer["premises_inside"] = json!(covered.inside);
    answer["inspected_inside"] = json!(covered.inspected);
    answer["coverage"] = json!(covered.share());
    answer["doors_a_day"] = json!(doors);
    answer["share_a_day"] = json!(covered.share_a_day(doors));
    answer["days_left"] = json!(covered.days_left(doors));
}
