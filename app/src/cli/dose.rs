//! `yardring dose`: how much water stands in a container, and arithmetic on a rate typed from a label.

use super::{Done, Failure, Output};
use clap::{Args, ValueEnum};
use serde_json::json;
use yardring_core::measure::{Amount, CAUTIONS, LabelRate, RateUnit, Water, WaterShape};
use yardring_core::units::Metres;

/// Water in a container by its shape, and how much product a rate typed from its label comes to. Keeps no product and no rate.
/// The label is the law.
#[derive(Debug, Args)]
pub struct Dose {
    /// The shape of the water.
    #[arg(long, value_enum)]
    shape: Shape,
    /// Across, with its unit: 57cm, 22in. The outer rim of a tire, the surface of a bucket.
    #[arg(long)]
    diameter: Option<Metres>,
    /// Across the bottom of a bucket, or the inner rim of a tire.
    #[arg(long)]
    inner: Option<Metres>,
    /// Length of a pipe, a pond or a box.
    #[arg(long)]
    length: Option<Metres>,
    /// Width of a pond or a box.
    #[arg(long)]
    width: Option<Metres>,
    /// Depth of the water, not of the container.
    #[arg(long)]
    depth: Metres,
    /// How many containers alike.
    #[arg(long, default_value_t = 1)]
    count: u32,
    /// The rate to use, from the label.
    #[arg(long, requires_all = ["lowest", "highest", "unit"])]
    rate: Option<f64>,
    /// The lowest rate that the label allows for this place.
    #[arg(long, requires = "rate")]
    lowest: Option<f64>,
    /// The highest rate that the label allows for this place.
    #[arg(long, requires = "rate")]
    highest: Option<f64>,
    /// The unit of the rate: kg/ha, lb/acre, g/m2, L/ha, gal/acre, g/m3, or mg/L of active ingredient.
    #[arg(long, requires = "rate")]
    unit: Option<RateUnit>,
    /// The share of active ingredient in the product, 0 to 1, for a rate in mg/L.
    #[arg(long, requires = "rate")]
    active: Option<f64>,
}

/// The shapes that water takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Shape {
    /// Drum, saucer, round pool, bamboo stump: --diameter.
    Round,
    /// Bucket: --diameter across the surface, --inner across the bottom.
    Bucket,
    /// Pipe lying level: --diameter, --length.
    Pipe,
    /// Tire lying flat: --diameter of the outer rim, --inner.
    Tire,
    /// Oval pond: --length, --width.
    Oval,
    /// Gutter, trough, sump: --length, --width.
    Box,
    /// Bird bath: --diameter.
    Bowl,
}

impl Dose {
    /// Reckons and answers, the cautions always beside it.
    ///
    /// # Errors
    /// [`Failure`] when a length is missing or cannot be, or the rate is missing or outside the label's range.
    pub fn run(&self, output: &Output) -> Result<Done, Failure> {
        let one = self.shape()?.water()?;
        let all = Water {
            litres: one.litres * f64::from(self.count),
            surface: yardring_core::units::SquareMetres(one.surface.0 * f64::from(self.count)),
        };
        let mut words = format!("{:.2} L ({:.2} US gallons) of water, surface {:.4} m²\n", all.litres, all.gallons(), all.surface.0);
        let mut machine = json!({ "litres": all.litres, "us_gallons": all.gallons(), "surface_m2": all.surface.0, "cautions": CAUTIONS });
        if let Some(rate) = self.label()? {
            let (amount, unit, name) = match rate.amount(&all)? {
                Amount::Grams(n) => (n, "g", "grams"),
                Amount::Millilitres(n) => (n, "mL", "millilitres"),
            };
            words.push_str(&format!("{amount:.3} {unit} of product at {} {}\n", rate.rate, rate.unit.word()));
            if amount < SMALLEST {
                words.push_str(
                    "Less than a field scale can weigh: tip the water out, or take a pre-measured unit if the label allows it.\n",
                );
            }
            machine[name] = json!(amount);
            machine["rate"] = json!(rate.rate);
            machine["rate_unit"] = json!(rate.unit.word());
        }
        CAUTIONS.iter().for_each(|caution| words.push_str(&format!("- {caution}\n")));
        output.answer(&words, || machine);
        Ok(Done::Clean)
    }

    fn shape(&self) -> Result<WaterShape, Failure> {
        let need = |length: Option<Metres>, name: &str| {
            let told = || Failure::new(format!("This shape needs --{name}"), "Give a number and its unit, as 30cm or 12in");
            length.map(|l| l.0).ok_or_else(told)
        };
        let depth = self.depth.0;
        let diameter = || need(self.diameter, "diameter");
        let (length, width) = (|| need(self.length, "length"), || need(self.width, "width"));
        Ok(match self.shape {
            Shape::Round => WaterShape::Round { diameter: diameter()?, depth },
            Shape::Bucket => WaterShape::Bucket { bottom: need(self.inner, "inner")?, surface: diameter()?, depth },
            Shape::Pipe => WaterShape::Pipe { diameter: diameter()?, length: length()?, depth },
            Shape::Tire => WaterShape::Ring { outer: diameter()?, inner: need(self.inner, "inner")?, depth },
            Shape::Oval => WaterShape::Oval { length: length()?, width: width()?, depth },
            Shape::Box => WaterShape::Box { length: length()?, width: width()?, depth },
            Shape::Bowl => WaterShape::Bowl { diameter: diameter()?, depth },
        })
    }

    fn label(&self) -> Result<Option<LabelRate>, Failure> {
        let Some(rate) = self.rate else { return Ok(None) };
        let (Some(lowest), Some(highest), Some(unit)) = (self.lowest, self.highest, self.unit) else {
            return Err(Failure::new(
                "The label's range and unit are needed with --rate",
                "Give --lowest, --highest and --unit from the label",
            ));
        };
        Ok(Some(LabelRate { rate, lowest, highest, unit, active_share: self.active }))
    }
}

/// Grams or millilitres below which nobody can measure in the field. Common practice, no source.
const SMALLEST: f64 = 1.0;
