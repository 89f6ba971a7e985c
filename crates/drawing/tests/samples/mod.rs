//! Plans for tests that no solver made: sheets cut up at random, so that drawings meet what they would seldom see.
#![allow(dead_code, unreachable_pub, missing_docs)]

use stripwright_plan::plan::*;
use stripwright_units::{Angle, Length, Money};

/// A small deterministic generator (Marsaglia's xorshift), so that a failing seed can be run again.
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Dice {
        Dice(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }

    pub fn below(&mut self, n: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) % n.max(1)
    }

    pub fn mm(&mut self, low: i64, high: i64) -> Length {
        Length::from_um((low * 2 + self.below((high - low) as u64 * 2) as i64) * 500)
    }
}

fn mm(n: i64) -> Mm {
    Mm(Length::from_mm(n))
}

use stripwright_plan::figures::{Minor, Mm};

struct Cutter {
    dice: Dice,
    kerf: Length,
    trim: Length,
    pieces: Vec<Placed>,
    offcuts: Vec<Offcut>,
    cuts: Vec<Cut>,
    sizes: Vec<(String, Length, Length)>,
}

impl Cutter {
    fn cut(
        &mut self,
        stage: u8,
        direction: Direction,
        setting: Length,
        at: Length,
        from: Length,
        to: Length,
    ) {
        let number = self.cuts.len() as u32 + 1;
        self.cuts.push(Cut {
            number,
            direction,
            stage,
            setting: Mm(setting),
            at: Mm(at),
            from: Mm(from),
            to: Mm(to),
        });
    }

    fn offcut(&mut self, x: Length, y: Length, length: Length, width: Length) {
        if length.is_positive() && width.is_positive() {
            let keep = length > Length::from_mm(300) && width > Length::from_mm(100);
            self.offcuts.push(Offcut { x: Mm(x), y: Mm(y), length: Mm(length), width: Mm(width), keep });
        }
    }

    fn part(&mut self, length: Length, width: Length) -> String {
        if let Some(s) = self.sizes.iter().find(|s| s.1 == length && s.2 == width) {
            return s.0.clone();
        }
        let names = ["shelf", "counter strip", "long rail under the bench top", "leg", "x"];
        let name = format!("{} {}", names[self.sizes.len() % names.len()], self.sizes.len() + 1);
        self.sizes.push((name.clone(), length, width));
        name
    }
}

/// A plan of one or two sheets cut up at random, rips first or crosscuts first, with some runs of equal strips.
pub fn random_plan(seed: u64) -> Plan {
    let mut dice = Dice::new(seed);
    let length = Length::from_mm([2440, 1220, 2500, 3050, 600][dice.below(5) as usize]);
    let width = Length::from_mm([1220, 1250, 1525, 300][dice.below(4) as usize]);
    let kerf = Length::from_um([3200, 2400, 0][dice.below(3) as usize]);
    let trim = Length::from_mm([5, 0, 10][dice.below(3) as usize]);
    let rips_first = dice.below(3) > 0;
    let mut c = Cutter { dice, kerf, trim, pieces: vec![], offcuts: vec![], cuts: vec![], sizes: vec![] };
    // Work in (along, across) of the first cuts, and swap for crosscuts first.
    let (long, wide) = if rips_first { (length, width) } else { (width, length) };
    let (first, second) = if rips_first {
        (Direction::Rip, Direction::Crosscut)
    } else {
        (Direction::Crosscut, Direction::Rip)
    };
    if trim.is_positive() {
        c.cut(0, first, trim, Length::ZERO, Length::ZERO, long);
    }
    let mut y = trim;
    let end = wide - trim;
    while c.dice.below(30) > 0 {
        let strip = c.dice.mm(12, 240);
        let alike = if c.dice.below(3) == 0 { 1 + c.dice.below(8) } else { 1 };
        let lengths: Vec<Length> = (0..1 + c.dice.below(6)).map(|_| c.dice.mm(40, 900)).collect();
        for _ in 0..alike {
            if y + strip + kerf > end {
                break;
            }
            c.cut(1, first, strip, y + strip, trim, long - trim);
            let mut x = trim;
            for &piece in &lengths {
                if x + piece + kerf > long - trim {
                    break;
                }
                c.cut(2, second, piece, x + piece, y, y + strip);
                let part = c.part(piece, strip);
                let (px, py, pl, pw) = if rips_first { (x, y, piece, strip) } else { (y, x, strip, piece) };
                c.pieces.push(Placed {
                    part,
                    x: Mm(px),
                    y: Mm(py),
                    length: Mm(pl),
                    width: Mm(pw),
                    turned: !rips_first,
                });
                x += piece + kerf;
            }
            let rest = long - trim - x;
            if rips_first {
                c.offcut(x, y, rest, strip);
            } else {
                c.offcut(y, x, strip, rest);
            }
            y += strip + kerf;
        }
    }
    let rest = end - y;
    if rips_first {
        c.offcut(trim, y, long - trim - trim, rest);
    } else {
        c.offcut(y, trim, rest, long - trim - trim);
    }
    let sheet = Sheet {
        name: "birch & <poplar> 18".into(),
        length: Mm(length),
        width: Mm(width),
        thickness: Some(mm(18)),
        measured: None,
        price: Minor(Money::from_minor(9200)),
        limit: None,
        trim: Trim { left: Mm(trim), right: Mm(trim), bottom: Mm(trim), top: Mm(trim) },
    };
    let demands = c
        .sizes
        .iter()
        .map(|(id, l, w)| Demand {
            id: id.clone(),
            length: Mm(*l),
            width: Mm(*w),
            count: 1,
            spare: 0,
            may_turn: true,
            sheets: vec![sheet.name.clone()],
        })
        .collect();
    let layout = Layout {
        sheet: sheet.name.clone(),
        times: 1 + c.dice.below(3) as u32,
        pieces: c.pieces,
        offcuts: c.offcuts,
        cuts: c.cuts,
        region: Region {
            x: Mm(trim),
            y: Mm(trim),
            length: Mm(length - trim - trim),
            width: Mm(width - trim - trim),
            within: Within::Offcut,
        },
    };
    let mut plan = empty_plan();
    plan.units = if seed % 4 == 3 { Units::Inch } else { Units::Metric };
    plan.cutting.rip_kerf = Mm(kerf);
    plan.cutting.crosscut_kerf = Mm(kerf);
    plan.sheets = vec![sheet];
    plan.demands = demands;
    plan.layouts = vec![layout];
    plan
}

/// A plan without anything in it.
pub fn empty_plan() -> Plan {
    let json = serde_json::json!({
        "format": 1, "title": "Sample", "units": "mm", "mark": 0.5, "currency": "EUR",
        "buy": { "sheets": [], "lumber": [], "total": 0, "area": 0.0 }, "fence_settings": 0, "largest_offcut": null,
        "bound": { "money": 0, "proven": true, "gap": 0.0, "slab_choice": null },
        "layouts": [], "sticks": [], "tops": [], "steps": [], "cautions": [], "limits": [], "prices": Prices::default(), "ledger": [], "assumed": [], "notes": [],
        "sheets": [],
        "cutting": { "first": "either", "stages": 3, "rip_kerf": 3.2, "crosscut_kerf": 3.2, "longest_rip": null,
            "fence_reach": null, "smallest_rip": null, "useful_offcut": null },
        "demands": [], "covers": [], "makes": [], "certificate": { "scale": 1, "proper": false, "leaves": [] }
    });
    serde_json::from_value(json).unwrap()
}

/// A round chevron top, its cells computed here by the textbook construction and not by the pattern crate.
pub fn chevron_top(diameter: f64, band: f64, pitch: f64, angle: f64) -> Top {
    let a = Angle::degrees(angle);
    let (rise, step) = (band * a.cot(), pitch / a.sin());
    let r = diameter / 2.0 + 6.0;
    let half = (r / band).ceil() as i64;
    let mut cells = Vec::new();
    let mut laminations = Vec::new();
    for i in -half..half {
        let (x0, x1) = (i as f64 * band, (i + 1) as f64 * band);
        let turned = i.rem_euclid(2) == 1;
        let (d0, d1) = if turned { (rise, 0.0) } else { (0.0, rise) };
        let mut n = 0;
        let k = ((r + rise) / step).ceil() as i64;
        for j in -k - 1..=k {
            let y = j as f64 * step;
            let corners = vec![[x0, y + d0], [x1, y + d1], [x1, y + d1 + step], [x0, y + d0 + step]];
            let near = corners.iter().map(|c| c[0] * c[0] + c[1] * c[1]).fold(f64::INFINITY, f64::min);
            if near < r * r {
                n += 1;
                cells.push(Cell {
                    band: (i + half + 1) as u32,
                    lamination: n,
                    turned,
                    sheet: "birch 18".into(),
                    corners,
                });
            }
        }
        laminations.push(n);
    }
    let outline = (0..180)
        .map(|i| {
            let t = Angle::degrees(f64::from(i) * 2.0);
            [diameter / 2.0 * t.cos(), diameter / 2.0 * t.sin()]
        })
        .collect();
    let json = serde_json::json!({
        "name": "counter", "count": 2,
        "pattern": { "kind": "chevron", "angle": angle, "band": band, "centre": "seam", "block": null,
            "phase": [0.0, 0.0], "phase_reason": "symmetric" },
        "outline": { "kind": "round", "diameter": diameter }, "margin": 6, "finished": 32, "pitch": pitch,
        "depth": 36, "bands": 2 * half, "laminations": laminations, "slabs": [], "strips_total": 0, "glue": [],
        "planer": [], "flatten": [], "blank": [diameter, diameter], "ledger": [], "area": 0.28, "mass": null, "face": { "outline": [], "cells": [] }
    });
    let mut top: Top = serde_json::from_value(json).unwrap();
    top.face = Face { outline, cells, beyond: Vec::new() };
    top.slabs = vec![even_slab(&top, angle, pitch, band)];
    top
}

/// One even slab for all bands of a chevron, by the formulas of the trade: kerf 2.2 mm, ends 10 mm.
fn even_slab(top: &Top, angle: f64, pitch: f64, band: f64) -> Slab {
    let a = Angle::degrees(angle);
    let n = 27;
    let bands = top.bands;
    let kerf = 2.2;
    let length = (f64::from(bands) * band + f64::from(bands + 1) * kerf) / a.sin() + pitch * a.cot() + 20.0;
    let length = Length::ceil_mm(length, Length::from_um(500));
    let layers = (0..n)
        .map(|i| Layer {
            id: "counter strip".into(),
            start: f64::from(i) * pitch * a.cot(),
            length: Mm(length),
            left: None,
            pitch: Mm(Length::nearest_mm(pitch)),
        })
        .collect();
    // Lines at the lamination angle: distance from the cut through the first strip's near end, square to the cut.
    let pieces = (0..bands)
        .map(|i| {
            let near = 10.0 * a.sin() + kerf + f64::from(i) * (band + kerf) + pitch * a.cos();
            let sides = vec![[-a.sin(), a.cos(), -near], [a.sin(), -a.cos(), near + band]];
            SlabPiece { band: (i + 1 < bands).then_some(i + 1), turned: i % 2 == 1, sides, trim: None }
        })
        .collect();
    Slab {
        name: format!("{}, slab", top.name),
        times: 2,
        bands: (1..=bands).collect(),
        strips: vec![],
        breadth: Mm(Length::nearest_mm(f64::from(n) * pitch)),
        length: Mm(Length::nearest_mm(length.to_mm() + f64::from(n - 1) * pitch * a.cot())),
        stagger: Mm(Length::nearest_mm(pitch * a.cot())),
        spare: 1,
        parts: vec![14, 13],
        layers,
        pieces,
    }
}

/// A plan with something of everything: sheets, tops, steps, cautions, prices.
pub fn full_plan(seed: u64) -> Plan {
    let mut plan = random_plan(seed);
    plan.title = "Six counter tops <for> Nöé & Co.".into();
    // A plan has one saw: only sheets cut with the same kerf belong to it.
    let same_saw =
        (1..).map(|more| random_plan(seed + more)).filter(|p| p.cutting.rip_kerf == plan.cutting.rip_kerf);
    let others: Vec<Plan> = same_saw.take(2).collect();
    for (n, other) in (1..).zip(others) {
        plan.layouts.extend(other.layouts.into_iter().map(|mut l| {
            l.sheet = format!("birch {n}");
            l
        }));
        plan.sheets.extend(other.sheets.into_iter().map(|mut s| {
            s.name = format!("birch {n}");
            s
        }));
        for demand in other.demands {
            if !plan.demands.iter().any(|d| d.id == demand.id) {
                plan.demands.push(demand);
            }
        }
    }
    plan.tops = vec![chevron_top(600.0, 70.0, 18.0, 45.0)];
    plan.buy.sheets = plan
        .layouts
        .iter()
        .map(|l| BuySheet { name: l.sheet.clone(), count: l.times, price: Minor(Money::from_minor(9200)) })
        .collect();
    let total: i64 = plan.buy.sheets.iter().map(|s| i64::from(s.count) * s.price.minor()).sum();
    plan.buy.total = Minor(Money::from_minor(total));
    plan.bound.money = plan.buy.total;
    plan.limits = vec!["The planer takes 330 mm, so each slab of 486 mm is planed in two parts.".into()];
    plan.notes =
        vec!["The smallest rip is 24 mm: use a push block and a zero-clearance insert for it.".into()];
    plan.assumed = vec![Assumed { key: "shop.table_saw.kerf".into(), value: "3.2 mm".into() }];
    let titles = [
        ("sheets", "Break down the sheets and rip the strips", ""),
        ("slabs", "Glue the strips face to face, each slid past its neighbour by the stagger", "counter"),
        ("bands", "Cut the reference edge, then the bands", "counter"),
        ("finish", "Oil both faces and the edge, two coats", "counter"),
    ];
    plan.steps = titles
        .iter()
        .zip(1..)
        .map(|((stage, title, of), number)| Step {
            number,
            id: (*stage).into(),
            stage: (*stage).into(),
            of: (*of).into(),
            title: (*title).into(),
            text: vec![
                "Set the fence from the drawing and check it with a rule on the first offcut before you rip a strip."
                    .into(),
                "Keep the reference edge on the fence; mark each strip with its letter and the number of its cut."
                    .into(),
            ],
            settings: vec![
                Setting {
                    name: "fence".into(),
                    value: "36 mm".into(),
                    length: Some(mm(36)),
                    degrees: None,
                },
                Setting { name: "saw turned from square".into(), value: "45°".into(), length: None, degrees: Some(45.0) },
            ],
            counts: vec![Count { what: "strips".into(), count: 54 }],
            runs: if number > 1 {
                vec![]
            } else {
                plan.layouts[0]
                    .cuts
                    .iter()
                    .take(9)
                    .zip(1..)
                    .map(|(c, n)| Run {
                        number: n,
                        direction: c.direction,
                        size: c.setting,
                        setting: c.setting,
                        inside: n != 3,
                        again: false,
                        cuts: vec![RunCuts { layout: 1, numbers: vec![c.number, c.number + 1, c.number + 2, c.number + 9] }],
                        frees: plan.demands.iter().take(2).map(|d| d.id.clone()).collect(),
                    })
                    .collect()
            },
            drawings: if number == 1 { vec!["layout-1".into(), "layout-2".into()] } else { vec![] },
            minutes: 42.5,
            wait: if number == 2 { 1440.0 } else { 0.0 },
            cautions: vec!["kickback".into(), "dust".into()],
        })
        .collect();
    plan.cautions = ["kickback", "dust"]
        .iter()
        .zip(1..)
        .map(|(id, step)| Caution {
            id: (*id).into(),
            title: format!("{id} at the saw"),
            text: vec!["Stand beside the line of the blade, use the riving knife and a push block, and let the blade \
                        stop before you reach for a strip that lies between fence and blade."
                .into()],
            step,
        })
        .collect();
    plan.prices.lines = vec![
        PriceLine {
            group: "material".into(),
            name: "birch 18".into(),
            quantity: 3.0,
            unit: "sheets".into(),
            each: Minor(Money::from_minor(9200)),
            amount: Minor(Money::from_minor(27600)),
        },
        PriceLine {
            group: "glue".into(),
            name: "PVA".into(),
            quantity: 2.0,
            unit: "bottles of 1000 g".into(),
            each: Minor(Money::from_minor(1250)),
            amount: Minor(Money::from_minor(2500)),
        },
    ];
    plan.prices.total = Minor(Money::from_minor(30100));
    plan
}
