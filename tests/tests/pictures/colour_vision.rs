//! The maps as people see them who lack one kind of cone, and as a grey printer prints them, for people to look at.

use crate::office;
use image::{Rgb, RgbImage, imageops};
use std::path::Path;
use yardring_core::brief::breaks::Classing;
use yardring_core::brief::classes::ColourBy;
use yardring_core::brief::{Format, MapRequest, MapSize, paint_map};
use yardring_core::job::Unwatched;
use yardring_core::reach::Wanted;

/// Protanopia, deuteranopia, tritanopia on linear light.
/// Source: G. Machado, M. Oliveira, L. Fernandes, A physiologically-based model for simulation of color vision deficiency, IEEE TVCG
/// 15 (2009), severity 1.0.
const DEFICIENCIES: [[[f32; 3]; 3]; 3] = [
    [[0.152_286, 1.052_583, -0.204_868], [0.114_503, 0.786_281, 0.099_216], [-0.003_882, -0.048_116, 1.051_998]],
    [[0.367_322, 0.860_646, -0.227_968], [0.280_085, 0.672_501, 0.047_413], [-0.011_820, 0.042_940, 0.968_881]],
    [[1.255_528, -0.076_749, -0.178_779], [-0.078_411, 0.930_809, 0.147_602], [0.004_733, 0.691_367, 0.303_900]],
];
/// Every channel becomes the luminance of IEC 61966-2-1.
const GREY: [[f32; 3]; 3] = [[0.2126, 0.7152, 0.0722]; 3];
const WHOLE: [[f32; 3]; 3] = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];

/// A picture through another eye.
fn seen(picture: &RgbImage, by: &[[f32; 3]; 3]) -> RgbImage {
    let linear = |v: u8| {
        let v = f32::from(v) / 255.0;
        if v <= 0.040_45 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
    };
    let back = |v: f32| {
        let v = v.clamp(0.0, 1.0);
        let v = if v <= 0.003_130_8 { 12.92 * v } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 };
        (255.0 * v).round() as u8
    };
    let mut out = picture.clone();
    for pixel in out.pixels_mut() {
        let light = pixel.0.map(linear);
        *pixel = Rgb(by.map(|row| back(row.iter().zip(light).map(|(m, v)| m * v).sum())));
    }
    out
}

#[test]
fn maps_as_others_see_them() {
    let (_, survey) = office::quillmere();
    let size = (560, 420);
    let mut all = RgbImage::new(size.0 * 5, size.1 * 3);
    for (row, colour_by) in [ColourBy::HouseIndex, ColourBy::Coverage, ColourBy::Gaps].into_iter().enumerate() {
        let request = MapRequest {
            district: "Quillmere".to_owned(),
            round: survey.round(None),
            since: None,
            colour_by,
            classing: Classing::default(),
            size: MapSize::Pixels(size.0, size.1),
            part: None,
            format: Format::Png,
            reach: Wanted::default(),
            unmasked: false,
            ground: None,
            walks: None,
        };
        let painted = paint_map(survey, &request, &Unwatched).unwrap();
        let picture = image::load_from_memory(&painted.bytes).unwrap().to_rgb8();
        let eyes = [WHOLE, DEFICIENCIES[0], DEFICIENCIES[1], DEFICIENCIES[2], GREY];
        for (column, by) in eyes.iter().enumerate() {
            let other = seen(&picture, by);
            assert_eq!(other == picture, column == 0, "{colour_by:?}, eye {column}");
            imageops::replace(&mut all, &other, i64::from(size.0) * column as i64, i64::from(size.1) * row as i64);
        }
    }
    if std::env::var_os("UPDATE_SCREENSHOTS").is_some() {
        all.save(Path::new(env!("CARGO_MANIFEST_DIR")).join("../screenshots/colour-vision.png")).unwrap();
    }
}
