//! Parts as shops draw them, and jobs: nearly every one can be cut.

use std::f64::consts::{FRAC_PI_2, PI, TAU};
use std::fmt::Write;

/// A drawing, and what is asked of it.
#[derive(Clone, Debug)]
pub(crate) struct Part {
    /// Its text.
    pub(crate) drawing: String,
    /// The text of a job file.
    pub(crate) job: String,
}

/// A vertex: x, y, bulge of the way to the next.
type Outline = Vec<[f64; 3]>;

/// Choices, made by bytes; the first of all where there are no more.
struct Choices<'a>(&'a [u8]);

impl Choices<'_> {
    fn byte(&mut self) -> u8 {
        let Some((first, rest)) = self.0.split_first() else {
            return 0;
        };
        self.0 = rest;
        *first
    }

    fn one_of<T: Copy>(&mut self, all: &[T]) -> T {
        all[usize::from(self.byte()) % all.len()]
    }

    /// A number from `low` to `high`.
    fn within(&mut self, low: f64, high: f64) -> f64 {
        let share = (f64::from(self.byte()) + f64::from(self.byte()) / 256.0) / 256.0;
        low + share * (high - low)
    }

    fn rarely(&mut self) -> bool {
        self.byte() >= 240
    }
}

/// The part that some bytes stand for: up to three bodies beside each other, with openings.
pub(crate) fn part(bytes: &[u8]) -> Part {
    let mut choices = Choices(bytes);
    let job = job(&mut choices);
    let mut pen = Pen {
        text: String::new(),
        blocks: String::new(),
        style: choices.byte() % 4,
        decimals: choices.one_of(&[16, 3, 4, 6, 9]),
    };
    let bodies = choices.one_of(&[1, 1, 1, 2, 3]);
    for body in 0..bodies {
        let radius = choices.one_of(&[10.0, 4.0, 25.0, 60.0, 1.0]) * choices.within(0.7, 1.3);
        let (x, y) = (200.0 * f64::from(body), choices.within(-50.0, 50.0));
        let turned = choices.one_of(&[0.0, 0.0, FRAC_PI_2, 0.5, 1.0]);
        let outer = outline(&mut choices, radius);
        pen.draw(&mut choices, &moved(&outer, 1.0, turned, x, y));
        // Openings stand on a circle of a third of the body, each far from the next.
        let holes = choices.one_of(&[0, 1, 1, 2, 3, 4]);
        for hole in 0..holes {
            let opening = outline(&mut choices, radius * if holes == 1 { 0.25 } else { 0.12 });
            let out = if holes == 1 { 0.0 } else { radius / 3.0 };
            let at = TAU * f64::from(hole) / f64::from(holes) + turned;
            let turned = choices.within(0.0, TAU);
            pen.draw(
                &mut choices,
                &moved(&opening, 1.0, turned, x + out * at.cos(), y + out * at.sin()),
            );
        }
    }
    let units = choices.one_of(&[4, 4, 4, 4, 0, 4]);
    let drawing = format!(
        "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1015\n9\n$INSUNITS\n70\n{units}\n0\nENDSEC\n\
         0\nSECTION\n2\nBLOCKS\n{}0\nENDSEC\n0\nSECTION\n2\nENTITIES\n{}0\nENDSEC\n0\nEOF\n",
        pen.blocks, pen.text
    );
    Part { drawing, job }
}

fn job(choices: &mut Choices<'_>) -> String {
    let materials = [
        "tool-steel",
        "stainless",
        "tungsten-carbide",
        "aluminium",
        "copper",
        "titanium",
    ];
    let mut job = format!(
        "assume_sides = true\nmaterial = \"{}\"\nthickness_mm = {}\n",
        choices.one_of(&materials),
        choices.one_of(&[20.0, 60.0, 5.0, 0.5, 120.0]),
    );
    let lines = [
        ["wire_mm = 0.25", "wire_mm = 0.2", "wire_mm = 0.1", ""],
        ["passes = 4", "passes = 3", "passes = 1", ""],
        [
            "",
            "finish = \"Ra 1.6\"",
            "finish = \"Ra 0.4\"",
            "finish = \"Ra 3\"",
        ],
        [
            "",
            "tolerance = \"±0.02\"",
            "tolerance = \"±0.005\"",
            "tolerance = \"H7\"",
        ],
        ["", "slug = \"stop\"", "slug = \"coreless\"", "tab = \"none\""],
        ["", "stops = \"each\"", "quantity = 7", "sharp_corners = 1.5"],
        ["", "overlap_mm = 0.5", "aim_mm = 0.01", "prefer = \"cost\""],
    ];
    for line in lines {
        let _ = writeln!(job, "{}", choices.one_of(&line));
    }
    job
}

/// A closed line round the origin that holds a circle of a half of `radius` and lies in one of `radius`, counter-clockwise.
fn outline(choices: &mut Choices<'_>, radius: f64) -> Outline {
    let r = radius;
    match choices.byte() % 8 {
        0 => vec![[-r, 0.0, 1.0], [r, 0.0, 1.0]],
        // A rectangle, its corners sharp, bevelled or round.
        1 => {
            let (a, b) = (0.85 * r, choices.within(0.5, 0.52) * r);
            let cut = choices.one_of(&[0.0, 0.05, 0.2]) * r;
            let bulge = choices.one_of(&[0.0, (PI / 8.0).tan()]);
            let corner = |x: f64, y: f64| {
                // The edge comes along y on the right and the left, along x on top and below.
                let along_x = [x - cut * x.signum(), y];
                let along_y = [x, y - cut * y.signum()];
                let [first, last] = if x * y > 0.0 {
                    [along_y, along_x]
                } else {
                    [along_x, along_y]
                };
                if cut > 0.0 {
                    vec![[first[0], first[1], bulge], [last[0], last[1], 0.0]]
                } else {
                    vec![[x, y, 0.0]]
                }
            };
            [(a, b), (-a, b), (-a, -b), (a, -b)]
                .into_iter()
                .flat_map(|(x, y)| corner(x, y))
                .collect()
        }
        // A stadium.
        2 => vec![
            [-0.48 * r, -0.5 * r, 0.0],
            [0.48 * r, -0.5 * r, 1.0],
            [0.48 * r, 0.5 * r, 0.0],
            [-0.48 * r, 0.5 * r, 1.0],
        ],
        // A regular polygon.
        3 => {
            let n = 4 + usize::from(choices.byte() % 9);
            around(n, |_| (0.95 * r, 0.0))
        }
        // A gear of straight flanks and arcs.
        4 => {
            let teeth = 5 + usize::from(choices.byte() % 40);
            let depth = choices.within(0.5, 0.9);
            let bulge = choices.one_of(&[0.0, (TAU / teeth as f64 / 16.0).tan()]);
            around(4 * teeth, |i| {
                let out = if i % 4 < 2 { 0.95 * r } else { depth * 0.95 * r };
                (out, if i % 2 == 0 { bulge } else { 0.0 })
            })
        }
        // A smooth curve in chords.
        5 => {
            let n = 24 + usize::from(choices.byte()) * choices.one_of(&[1, 1, 1, 8]);
            let (waves, share) = (f64::from(choices.byte() % 12), choices.within(0.0, 0.2));
            around(n, |i| {
                (
                    r * (0.75 + share * (waves * TAU * i as f64 / n as f64).sin()),
                    0.0,
                )
            })
        }
        // A star of corners and arcs, some radii alike.
        6 => {
            let n = 5 + usize::from(choices.byte() % 12);
            let corners: Vec<(f64, f64)> = (0..n)
                .map(|_| {
                    (
                        r * choices.within(0.6, 0.95),
                        choices.one_of(&[0.0, 0.0, 0.1, -0.1]),
                    )
                })
                .collect();
            around(n, |i| corners[i])
        }
        _ => slotted(choices, r),
    }
}

/// A disc with a slot of parallel walls: as wide as wires are thick.
fn slotted(choices: &mut Choices<'_>, r: f64) -> Outline {
    let half: f64 = choices.one_of(&[0.13, 0.2, 0.26, 0.4, 0.1]) * choices.one_of(&[1.0, 0.5, 2.0]);
    let half = half.min(0.2 * r);
    let (open, bottom) = ((half / r).asin(), 0.6 * r);
    let bulge = ((TAU - 2.0 * open) / 8.0).tan();
    let [x, y] = [r * open.cos(), half];
    vec![
        [x, y, bulge],
        [-r, 0.0, bulge],
        [x, -y, 0.0],
        [bottom, -half, 0.0],
        [bottom, half, 0.0],
    ]
}

fn around(n: usize, at: impl Fn(usize) -> (f64, f64)) -> Outline {
    (0..n)
        .map(|i| {
            let (radius, bulge) = at(i);
            let (sin, cos) = (TAU * i as f64 / n as f64).sin_cos();
            [radius * cos, radius * sin, bulge]
        })
        .collect()
}

fn moved(outline: &Outline, scale: f64, turned: f64, x: f64, y: f64) -> Outline {
    let (sin, cos) = turned.sin_cos();
    let at = |[a, b, bulge]: &[f64; 3]| {
        [
            x + scale * (a * cos - b * sin),
            y + scale * (a * sin + b * cos),
            *bulge,
        ]
    };
    outline.iter().map(at).collect()
}

/// Draws entities.
struct Pen {
    text: String,
    blocks: String,
    style: u8,
    decimals: usize,
}

impl Pen {
    fn number(&self, value: f64) -> String {
        format!("{value:.*}", self.decimals)
    }

    /// Draws a closed outline, mostly as it is; rarely with a flaw as drawings have them.
    fn draw(&mut self, choices: &mut Choices<'_>, outline: &Outline) {
        let flaw = choices.rarely().then(|| choices.byte() % 6);
        let mut outline = outline.clone();
        match flaw {
            // Ends that miss one another.
            Some(0) => {
                let gap = choices.one_of(&[5e-4, 0.02, 0.2]);
                self.single(choices, &outline, Some(gap));
                return;
            }
            // A crumb.
            Some(1) => {
                let [x, y, _] = outline[0];
                outline.insert(0, [x - 2e-6, y, 0.0]);
            }
            // Drawn twice.
            Some(2) => self.whole(&outline),
            // A curve twice.
            Some(3) => self.piece(outline[0], outline[1]),
            // Help lines and words.
            Some(4) => {
                self.text += "0\nTEXT\n8\nNOTES\n10\n0\n20\n0\n40\n2\n1\n2x 45 deg\n";
                let [x, y, _] = outline[0];
                self.piece([x - 500.0, y + 500.0, 0.0], [x + 500.0, y + 500.0, 0.0]);
            }
            _ => {}
        }
        match self.style {
            0 => self.whole(&outline),
            1 => self.single(choices, &outline, None),
            2 => self.block(choices, &outline),
            _ if outline.len() == 2 => {
                let [[x0, y0, _], [x1, y1, _]] = [outline[0], outline[1]];
                let (x, y, radius) = (x0.midpoint(x1), y0.midpoint(y1), (x1 - x0).hypot(y1 - y0) / 2.0);
                let [x, y, radius] = [x, y, radius].map(|n| self.number(n));
                let _ = writeln!(self.text, "0\nCIRCLE\n8\n0\n10\n{x}\n20\n{y}\n40\n{radius}");
            }
            _ => self.whole(&outline),
        }
    }

    fn polyline(&self, outline: &Outline) -> String {
        let mut text = format!("0\nLWPOLYLINE\n8\n0\n90\n{}\n70\n1\n", outline.len());
        for &[x, y, bulge] in outline {
            let _ = writeln!(
                text,
                "10\n{}\n20\n{}\n42\n{bulge}",
                self.number(x),
                self.number(y)
            );
        }
        text
    }

    fn whole(&mut self, outline: &Outline) {
        self.text += &self.polyline(outline);
    }

    /// As single lines and arcs, in an order and directions of their own; without the last where `gap` says how far.
    fn single(&mut self, choices: &mut Choices<'_>, outline: &Outline, gap: Option<f64>) {
        let n = outline.len();
        let step = if n.is_multiple_of(7) { 1 } else { 7 };
        let turned = choices.byte() % 2 == 1;
        for i in (0..n).map(|i| i * step % n) {
            let (from, mut to) = (outline[i], outline[(i + 1) % n]);
            if let Some(gap) = gap.filter(|_| i == 0) {
                to[0] += gap;
            }
            if turned && i % 2 == 1 {
                self.piece([to[0], to[1], -from[2]], from);
            } else {
                self.piece(from, to);
            }
        }
    }

    /// A line or an arc.
    fn piece(&mut self, [x0, y0, bulge]: [f64; 3], [x1, y1, _]: [f64; 3]) {
        if bulge == 0.0 {
            let [x0, y0, x1, y1] = [x0, y0, x1, y1].map(|n| self.number(n));
            let _ = writeln!(self.text, "0\nLINE\n8\n0\n10\n{x0}\n20\n{y0}\n11\n{x1}\n21\n{y1}");
            return;
        }
        let (dx, dy) = (x1 - x0, y1 - y0);
        let rise = (1.0 - bulge * bulge) / (4.0 * bulge);
        let (x, y) = (x0.midpoint(x1) - dy * rise, y0.midpoint(y1) + dx * rise);
        let mut ends = [(y0 - y).atan2(x0 - x), (y1 - y).atan2(x1 - x)];
        if bulge < 0.0 {
            ends.reverse();
        }
        let [begin, end] = ends.map(f64::to_degrees);
        let [x, y, radius] = [x, y, (x0 - x).hypot(y0 - y)].map(|n| self.number(n));
        let _ = writeln!(
            self.text,
            "0\nARC\n8\n0\n10\n{x}\n20\n{y}\n40\n{radius}\n50\n{begin}\n51\n{end}"
        );
    }

    /// As a block, placed with a scale and mirrored or not.
    fn block(&mut self, choices: &mut Choices<'_>, outline: &Outline) {
        let (scale, mirrored) = (
            choices.one_of(&[1.0, 2.0, 0.5, 25.4]),
            choices.one_of(&[1.0, 1.0, -1.0]),
        );
        let name = format!("B{}", self.blocks.len());
        let smaller: Outline = outline
            .iter()
            .map(|[x, y, bulge]| [x / scale * mirrored, y / scale, bulge * mirrored])
            .collect();
        let _ = writeln!(self.blocks, "0\nBLOCK\n8\n0\n2\n{name}\n70\n0\n10\n0\n20\n0");
        self.blocks += &self.polyline(&smaller);
        self.blocks += "0\nENDBLK\n";
        let _ = writeln!(
            self.text,
            "0\nINSERT\n8\n0\n2\n{name}\n10\n0\n20\n0\n41\n{}\n42\n{scale}",
            scale * mirrored
        );
    }
}
