// Draws one piece of a layer. Places are metres from the piece's origin; widths are points of the screen.

struct View {
    scale: vec2<f32>,            // metres to the screen's -1 .. 1
    offset: vec2<f32>,           // where the piece's origin falls
    half: vec2<f32>,             // half the map's size in pixels
    pixels_per_metre: f32,
    first: u32,                  // number of the piece's first outline in its layer
    fade: f32,                   // how firmly edges and hatching are drawn, 0 .. 1; for the quilt the level of its picture
    pixels_per_point: f32,
};

struct Ink {
    fill: vec4<f32>,
    edge: vec4<f32>,
    mark: vec4<f32>,
    how: vec4<f32>,              // edge width in points, edge width in metres, mark, 1 hatched + 2 edge inside + 4 dotted
};

@group(0) @binding(0) var<uniform> view: View;
@group(0) @binding(1) var<uniform> inks: array<Ink, 32>;
@group(0) @binding(2) var classes: texture_2d<u32>;

const ROW: u32 = 2048u;
const LAST: u32 = 0x80000000u;
const EDGE_TONE: f32 = 0.18;
const HATCHED_PALE: f32 = 0.5;

fn class_of(id: u32) -> u32 {
    let i = view.first + (id & 0xFFFu);
    let row = min(i / ROW, textureDimensions(classes).y - 1u);
    return min(textureLoad(classes, vec2<u32>(i % ROW, row), 0).r, 31u);
}

fn premultiplied(ink: vec4<f32>, share: f32) -> vec4<f32> {
    let a = ink.a * share;
    return vec4<f32>(ink.rgb * a, a);
}

// ---- fills

struct Filled {
    @builtin(position) place: vec4<f32>,
    @location(0) up: f32,
    @location(1) @interpolate(flat) class_number: u32,
};

@vertex
fn fill_corner(@location(0) at: vec2<f32>, @location(1) id: u32) -> Filled {
    var out: Filled;
    out.place = vec4<f32>(at * view.scale + view.offset, 0.0, 1.0);
    out.up = f32((id >> 12u) & 0xFFFFu) / 65535.0;
    out.class_number = class_of(id);
    return out;
}

@fragment
fn fill_ink(in: Filled) -> @location(0) vec4<f32> {
    let ink = inks[in.class_number];
    var colour = ink.fill;
    if u32(ink.how.z) == 3u && in.up < 0.5 {
        colour = ink.mark;
    }
    // Where edges are too fine to be drawn the ground takes their tone, so that what has no fill of its own is still seen.
    let drawn = select(0.0, ink.edge.a, max(ink.how.x, ink.how.y) > 0.0);
    let tone = EDGE_TONE * drawn * (1.0 - view.fade);
    let alpha = tone + colour.a * (1.0 - tone);
    colour = vec4<f32>((ink.edge.rgb * tone + colour.rgb * colour.a * (1.0 - tone)) / max(alpha, 0.001), alpha);
    if (u32(ink.how.w) & 1u) != 0u {
        let gap = 7.0 * view.pixels_per_point;
        let across = fract((in.place.x + in.place.y) / gap) * gap;
        let away = min(across, gap - across) * 0.70710678;
        let line = clamp(0.5 * view.pixels_per_point + 0.5 - away, 0.0, 1.0) * ink.mark.a * view.fade;
        colour = vec4<f32>(mix(colour.rgb, ink.mark.rgb, line), max(colour.a, line));
        // Where hatching is too fine to be seen what is hatched is pale, and so no surer than the rest.
        colour.a *= mix(HATCHED_PALE, 1.0, view.fade);
    }
    if (u32(ink.how.w) & 4u) != 0u {
        let gap = 9.0 * view.pixels_per_point;
        let row = floor(in.place.y / gap);
        let shift = 0.5 * f32(u32(row) & 1u);            // every second row stands between the dots of the first
        let from_dot = vec2<f32>(fract(in.place.x / gap + shift) - 0.5, in.place.y / gap - row - 0.5) * gap;
        let dot = clamp(1.1 * view.pixels_per_point + 0.5 - length(from_dot), 0.0, 1.0) * ink.mark.a * view.fade;
        colour = vec4<f32>(mix(colour.rgb, ink.mark.rgb, dot), max(colour.a, dot));
    }
    return premultiplied(colour, 1.0);
}

// ---- edges: four corners round each edge, softened at the sides

struct Edged {
    @builtin(position) place: vec4<f32>,
    @location(0) aside: vec2<f32>,                          // pixels beside the edge, pixels along it from its middle
    @location(1) @interpolate(flat) half_size: vec2<f32>,   // half its width, half its length
    @location(2) @interpolate(flat) class_number: u32,
    @location(3) @interpolate(flat) inside: u32,
};

@vertex
fn edge_corner(@builtin(vertex_index) corner: u32, @location(0) a: vec2<f32>, @location(1) id: u32, @location(2) b: vec2<f32>) -> Edged {
    var out: Edged;
    out.place = vec4<f32>(2.0, 2.0, 2.0, 1.0);
    if (id & LAST) != 0u {
        return out;
    }
    out.class_number = class_of(id);
    let how = inks[out.class_number].how;
    let width = max(how.x * view.pixels_per_point, how.y * view.pixels_per_metre);
    let half_width = width * 0.5;
    let from_px = (a * view.scale + view.offset) * view.half;
    let to_px = (b * view.scale + view.offset) * view.half;
    let along = to_px - from_px;
    let length_px = length(along);
    if width <= 0.0 || length_px <= 0.0 {
        return out;
    }
    out.inside = u32(how.w) & 2u;
    let dir = along / length_px;
    let normal = vec2<f32>(-dir.y, dir.x);                  // towards the inside: outlines run counter-clockwise
    let reach = half_width + 1.0;
    let at_end = (corner & 1u) != 0u;
    let side = select(-reach, reach, corner < 2u);
    let shift = select(0.0, half_width, out.inside != 0u);
    let px = select(from_px - dir * reach, to_px + dir * reach, at_end) + normal * (side + shift);
    out.half_size = vec2<f32>(half_width, length_px * 0.5);
    out.aside = vec2<f32>(side, select(-reach, length_px + reach, at_end) - length_px * 0.5);
    out.place = vec4<f32>(px / view.half, 0.0, 1.0);
    return out;
}

@fragment
fn edge_ink(in: Edged) -> @location(0) vec4<f32> {
    let past = max(abs(in.aside.y) - in.half_size.y, 0.0);
    // ends are round, but straight where the edge lies inside, so that nothing sticks out at a corner
    let away = select(length(vec2<f32>(in.aside.x, past)), abs(in.aside.x) + past * 1e3, in.inside != 0u);
    let cover = clamp(in.half_size.x + 0.5 - away, 0.0, 1.0);
    return premultiplied(inks[in.class_number].edge, cover * min(1.0, in.half_size.x * 2.0) * view.fade);
}

// ---- marks: one square round each outline's middle

struct Marked {
    @builtin(position) place: vec4<f32>,
    @location(0) at: vec2<f32>,          // pixels from the middle, down the screen
    @location(1) @interpolate(flat) radius: f32,
    @location(2) @interpolate(flat) class_number: u32,
};

@vertex
fn mark_corner(@builtin(vertex_index) corner: u32, @location(0) at: vec2<f32>, @location(1) room: f32, @location(2) id: u32) -> Marked {
    var out: Marked;
    out.place = vec4<f32>(2.0, 2.0, 2.0, 1.0);
    out.class_number = class_of(id);
    let mark = u32(inks[out.class_number].how.z);
    let most = select(11.0, 26.0, mark == 1u || mark == 2u) * view.pixels_per_point;
    out.radius = min(room * view.pixels_per_metre * 0.82, most);
    // a hollow drop says least and is drawn most often: it waits until there is room
    let least = select(3.0, 5.0, mark == 4u) * view.pixels_per_point;
    if mark == 0u || mark == 3u || out.radius < least {
        return out;
    }
    let right = select(-1.0, 1.0, (corner & 1u) != 0u);
    let lower = select(-1.0, 1.0, corner < 2u);
    let reach = out.radius + 1.5;
    out.at = vec2<f32>(right, lower) * reach;
    let middle = (at * view.scale + view.offset) * view.half;
    out.place = vec4<f32>((middle + vec2<f32>(right, -lower) * reach) / view.half, 0.0, 1.0);
    return out;
}

fn from_segment(p: vec2<f32>, a: vec2<f32>, b: vec2<f32>) -> f32 {
    let d = b - a;
    return length(p - a - d * clamp(dot(p - a, d) / dot(d, d), 0.0, 1.0));
}

// A drop with its tip up: a circle, and the two straight sides that touch it. Below 0 inside.
fn from_drop(p: vec2<f32>, size: f32) -> f32 {
    let tip = vec2<f32>(0.0, -size);
    let round = size * 0.56;
    let reach = 2.0 * size - round;          // from the tip to the circle's middle
    let q = vec2<f32>(abs(p.x), p.y) - tip;
    let sine = round / reach;
    let cosine = sqrt(1.0 - sine * sine);
    let along = q.x * sine + q.y * cosine;
    let beside = q.x * cosine - q.y * sine;
    if along > sqrt(reach * reach - round * round) || q.y > reach {
        return length(q - vec2<f32>(0.0, reach)) - round;
    }
    if along < 0.0 {
        return length(q);
    }
    return beside;
}

@fragment
fn mark_ink(in: Marked) -> @location(0) vec4<f32> {
    let ink = inks[in.class_number];
    let point = view.pixels_per_point;
    let r = in.radius;
    var away = 1e6;                          // pixels outside the ink
    switch u32(ink.how.z) {
        case 1u: { away = from_segment(in.at, vec2<f32>(-0.72 * r, 0.72 * r), vec2<f32>(0.72 * r, -0.72 * r)) - 0.9 * point; }
        case 2u: { away = from_segment(in.at, vec2<f32>(-0.95 * r, 0.0), vec2<f32>(0.95 * r, 0.0)) - 1.5 * point; }
        case 4u: { away = abs(from_drop(in.at, 0.66 * r)) - 0.65 * point; }
        case 5u: { away = from_drop(in.at, 0.85 * r); }
        case 6u: { away = min(from_drop(in.at, 0.58 * r), abs(length(in.at) - 0.93 * r) - 0.7 * point); }
        default: {}
    }
    return premultiplied(ink.mark, clamp(0.5 - away, 0.0, 1.0));
}

// ---- the quilt: one square a tile, its colours from a picture of 64 x 64 cells

@group(1) @binding(0) var picture: texture_2d<f32>;
@group(1) @binding(1) var between: sampler;

const CELLS: f32 = 64.0;
const TILES_ACROSS: u32 = 16u;

struct Tiled {
    @builtin(position) place: vec4<f32>,
    @location(0) cells: vec2<f32>,                          // cells from the tile's south-west corner
    @location(1) @interpolate(flat) tile: vec2<f32>,        // where the tile lies in the picture, in cells
};

@vertex
fn tile_corner(
    @builtin(vertex_index) corner: u32,
    @builtin(instance_index) number: u32,
    @location(0) at: vec2<f32>,
    @location(1) side: f32,
) -> Tiled {
    var out: Tiled;
    let east = f32(corner & 1u);
    let north = f32(corner >> 1u);
    out.cells = vec2<f32>(east, north) * CELLS;
    out.tile = vec2<f32>(f32(number % TILES_ACROSS), f32(number / TILES_ACROSS)) * CELLS;
    out.place = vec4<f32>((at + vec2<f32>(east, north) * side) * view.scale + view.offset, 0.0, 1.0);
    return out;
}

@fragment
fn tile_ink(in: Tiled) -> @location(0) vec4<f32> {
    let level = view.fade;
    let margin = 0.5 * exp2(ceil(level));                   // so that no neighbour in the picture shows through
    let cells = in.tile + clamp(in.cells, vec2<f32>(margin), vec2<f32>(CELLS - margin));
    return textureSampleLevel(picture, between, cells / vec2<f32>(textureDimensions(picture, 0)), level);
}
