//! Water: how much stands in a container, and arithmetic on a rate typed from a label.

use crate::ui::method::how;
use crate::ui::{notice, theme};
use egui::{ComboBox, DragValue, RichText, Ui, WidgetInfo};
use yardring_core::measure::{Amount, CAUTIONS, LabelRate, RateUnit, Water, WaterShape};
use yardring_core::units::SquareMetres;

/// A shape to choose.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
enum Shape {
    #[default]
    Round,
    Bucket,
    Pipe,
    Tire,
    Oval,
    Box,
    Bowl,
}

const SHAPES: [(Shape, &str); 7] = [
    (Shape::Round, "drum, saucer, round pool"),
    (Shape::Bucket, "bucket"),
    (Shape::Pipe, "pipe lying level"),
    (Shape::Tire, "tire lying flat"),
    (Shape::Oval, "oval pond"),
    (Shape::Box, "gutter, trough, sump"),
    (Shape::Bowl, "bird bath"),
];

/// Centimetres in an inch, exactly.
const CM_PER_INCH: f64 = 2.54;

/// What is typed. Lengths in centimetres. No product and no rate is kept in the survey.
#[derive(Clone, Debug)]
pub(super) struct Typed {
    shape: Shape,
    /// Lengths are read in inches.
    inches: bool,
    /// Across, or the longer side.
    long: f64,
    /// The inner or lower width, or the shorter side.
    short: f64,
    /// How far a pipe holds water.
    length: f64,
    depth: f64,
    count: u32,
    with_rate: bool,
    rate: f64,
    lowest: f64,
    highest: f64,
    unit: RateUnit,
    active: f64,
}

impl Default for Typed {
    fn default() -> Self {
        Self {
            shape: Shape::Round,
            inches: false,
            long: 57.0,
            short: 40.0,
            length: 300.0,
            depth: 30.0,
            count: 1,
            with_rate: false,
            rate: 0.0,
            lowest: 0.0,
            highest: 0.0,
            unit: RateUnit::KilogramsPerHectare,
            active: 5.0,
        }
    }
}

impl Typed {
    fn water(&self) -> WaterShape {
        let m = |cm: f64| cm / 100.0;
        let (long, short, depth) = (m(self.long), m(self.short), m(self.depth));
        match self.shape {
            Shape::Round => WaterShape::Round { diameter: long, depth },
            Shape::Bucket => WaterShape::Bucket { bottom: short, surface: long, depth },
            Shape::Pipe => WaterShape::Pipe { diameter: long, length: m(self.length), depth },
            Shape::Tire => WaterShape::Ring { outer: long, inner: short, depth },
            Shape::Oval => WaterShape::Oval { length: long, width: short, depth },
            Shape::Box => WaterShape::Box { length: long, width: short, depth },
            Shape::Bowl => WaterShape::Bowl { diameter: long, depth },
        }
    }

    /// What its lengths are called: the longer, and the shorter where there is one.
    fn names(&self) -> (&'static str, Option<&'static str>) {
        match self.shape {
            Shape::Round | Shape::Pipe | Shape::Bowl => ("Across", None),
            Shape::Bucket => ("Across the water", Some("Across the bottom")),
            Shape::Tire => ("Outer rim across", Some("Inner rim across")),
            Shape::Oval | Shape::Box => ("Length", Some("Width")),
        }
    }
}

/// The closed line.
pub(super) fn answer(typed: &Typed) -> String {
    match typed.water().water() {
        Ok(one) => format!(
            "{} in a {}",
            litres(one.litres),
            SHAPES.iter().find(|s| s.0 == typed.shape).map_or("", |s| s.1.split(',').next().unwrap_or_default())
        ),
        Err(e) => e.to_string(),
    }
}

fn litres(l: f64) -> String {
    if l < 10.0 { format!("{l:.2} L") } else { format!("{l:.0} L") }
}

/// The shape, its lengths, the water; then the rate and the amount.
pub(super) fn show(ui: &mut Ui, typed: &mut Typed) {
    let named = SHAPES.iter().find(|s| s.0 == typed.shape).map_or("", |s| s.1);
    let drawn = ComboBox::from_id_salt("water shape").selected_text(named).width(200.0).show_ui(ui, |ui| {
        for (shape, word) in SHAPES {
            ui.selectable_value(&mut typed.shape, shape, word);
        }
    });
    drawn.response.widget_info(|| WidgetInfo::labeled(egui::Role::ComboBox, true, format!("Shape: {named}")));
    if let Some(inches) = notice::choices(ui, typed.inches, &[(false, "centimetres"), (true, "inches")]) {
        typed.inches = inches;
    }
    let ((long, short), inches) = (typed.names(), typed.inches);
    let length = |ui: &mut Ui, name: &str, value: &mut f64| length(ui, name, inches, value);
    length(ui, long, &mut typed.long);
    if let Some(short) = short {
        length(ui, short, &mut typed.short);
    }
    if typed.shape == Shape::Pipe {
        length(ui, "Length with water", &mut typed.length);
    }
    length(ui, "Depth of the water", &mut typed.depth);
    field(ui, "How many alike", DragValue::new(&mut typed.count).range(1..=9999));
    match typed.water().water() {
        Err(e) => notice::quiet(ui, format!("{e}. Measure inside, and the water rather than the container.")),
        Ok(one) => {
            let n = f64::from(typed.count);
            let all = Water { litres: one.litres * n, surface: SquareMetres(one.surface.0 * n) };
            let text = format!("{} ({:.1} US gallons), surface {:.3} m²", litres(all.litres), all.gallons(), all.surface.0);
            ui.label(RichText::new(text).font(theme::semibold(theme::BODY)));
            ui.checkbox(&mut typed.with_rate, "Reckon with a rate typed from the label");
            if typed.with_rate {
                rate(ui, typed, &all);
            }
        }
    }
    for caution in CAUTIONS {
        notice::quiet(ui, caution);
    }
    how(
        ui,
        "water",
        "Elementary geometry; arithmetic on the label's rate, nothing more",
        "Volume and surface follow from the shape and the lengths of the water, not of the container. The amount of product is the rate times \
         the surface or the volume, with exact unit factors. A rate outside the range typed from the label is not reckoned with. The command \
         line: yardring dose.",
    );
}

fn rate(ui: &mut Ui, typed: &mut Typed, all: &Water) {
    field(ui, "Rate to use", DragValue::new(&mut typed.rate).range(0.0..=1e6).speed(0.1));
    field(ui, "Lowest on the label", DragValue::new(&mut typed.lowest).range(0.0..=1e6).speed(0.1));
    field(ui, "Highest on the label", DragValue::new(&mut typed.highest).range(0.0..=1e6).speed(0.1));
    let drawn = ComboBox::from_id_salt("rate unit").selected_text(typed.unit.word()).show_ui(ui, |ui| {
        for (unit, word) in RateUnit::ALL {
            ui.selectable_value(&mut typed.unit, unit, word);
        }
    });
    drawn.response.widget_info(|| WidgetInfo::labeled(egui::Role::ComboBox, true, format!("Unit of the rate: {}", typed.unit.word())));
    if typed.unit == RateUnit::MilligramsActivePerLitre {
        field(ui, "Active ingredient", DragValue::new(&mut typed.active).range(0.0..=100.0).suffix(" %"));
    }
    let active_share = (typed.unit == RateUnit::MilligramsActivePerLitre).then_some(typed.active / 100.0);
    let label = LabelRate { rate: typed.rate, lowest: typed.lowest, highest: typed.highest, unit: typed.unit, active_share };
    match label.amount(all) {
        Ok(Amount::Grams(n)) => ui.label(RichText::new(format!("{n:.2} g of product")).font(theme::semibold(theme::BODY))),
        Ok(Amount::Millilitres(n)) => ui.label(RichText::new(format!("{n:.2} mL of product")).font(theme::semibold(theme::BODY))),
        Err(e) => ui.label(e.to_string()),
    };
}

/// A length kept in centimetres, typed in them or in inches.
fn length(ui: &mut Ui, name: &str, inches: bool, value: &mut f64) {
    if !inches {
        return field(ui, name, DragValue::new(value).range(0.0..=100_000.0).speed(0.5).suffix(" cm"));
    }
    let before = *value / CM_PER_INCH;
    let mut typed = before;
    field(ui, name, DragValue::new(&mut typed).range(0.0..=40_000.0).speed(0.25).max_decimals(2).suffix(" in"));
    if typed != before {
        *value = typed * CM_PER_INCH;
    }
}

/// A word and what is typed beside it.
fn field(ui: &mut Ui, name: &str, value: DragValue<'_>) {
    ui.horizontal(|ui| {
        ui.label(name);
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            let response = ui.add(value);
            response.widget_info(|| WidgetInfo::labeled(egui::Role::SpinButton, true, name));
        });
    });
}
