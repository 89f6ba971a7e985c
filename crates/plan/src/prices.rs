//! What the job costs, and what to ask for it.
//!
//! A line is a quantity, kept to a thousandth, times a price, rounded half up to a whole minor unit; every sum is a sum
//! of such whole units, so that the lines add up to the cost, and the quotes to the total, exactly. Sheets, sticks,
//! bottles and tins count whole, as they are bought (T91). Labour and overhead go by the hour (T93).

use std::collections::BTreeSet;

use stripwright_splay::Base;
use stripwright_units::{Length, Money};

use crate::plan::{PriceLine, Prices, Quantity, Quote, Share, Step};
use crate::steps::{bands_metres, base_glue, base_millilitres, base_surface, dowels, millilitres, surface};
use crate::wording::count;
use crate::words::{Words, decimals};
use crate::work::Work;

/// A thing quoted for, and its weights in the sharing out of what is paid for in common.
#[derive(Default)]
struct Item {
    kind: &'static str,
    name: String,
    count: u32,
    /// Square metres of sheet in its pieces.
    sheet: f64,
    /// Metres of lumber.
    lumber: f64,
    glue: f64,
    finish: f64,
    /// Dowels and screws: what is bought, and how many.
    hardware: Vec<(Hardware, u32)>,
    planing: f64,
    sanding: f64,
    minutes: f64,
    strips: u32,
    /// Kilograms of one.
    mass: Option<f64>,
}

/// A kind of hardware: sizes that are bought apart are kinds apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Hardware {
    /// By diameter and length.
    Dowel(Length, Length),
    /// By number and length.
    Screw(u32, Length),
}

impl Hardware {
    fn name(self, words: Words) -> String {
        match self {
            Hardware::Dowel(diameter, length) => {
                format!("dowels, {} by {}", words.length(diameter), words.length(length))
            }
            Hardware::Screw(number, length) => format!("screws no. {number}, {}", words.length(length)),
        }
    }
}

impl Item {
    fn of(&self, kind: Hardware) -> f64 {
        f64::from(self.hardware.iter().filter(|(own, _)| *own == kind).map(|(_, count)| count).sum::<u32>())
    }
}

/// By which weight a line is shared out.
type Weight = Box<dyn Fn(&Item) -> f64>;

/// What everything costs, shared out over what is made.
pub(crate) fn prices(work: &Work<'_>, steps: &[Step]) -> Prices {
    let minutes = steps.iter().map(|s| s.minutes).sum::<f64>();
    let items = items(work, steps);
    let lines = lines(work, (minutes * 10.0).round() as i64, &items);
    let cost = total(lines.iter().map(|(line, _)| *line.amount));
    let percent = work.job.shop.reckoning.rates.margin;
    let margin = share(cost, (percent * 1e3).round() as i64, 100_000);
    let quotes = quotes(&items, &lines, margin, work.words());
    Prices {
        cost: cost.into(),
        margin_percent: percent,
        margin: margin.into(),
        total: total([cost, margin].into_iter()).into(),
        quotes,
        minutes: (minutes * 10.0).round() / 10.0,
        basis: basis(work),
        lines: lines.into_iter().map(|(line, _)| line).collect(),
    }
}

/// `amount * part / whole`, rounded half up (away from zero).
fn share(amount: Money, part: i64, whole: i64) -> Money {
    let product = i128::from(amount.minor()) * i128::from(part);
    let whole = i128::from(whole);
    let rounded = (product.abs() + whole / 2) / whole * product.signum();
    Money::from_minor(i64::try_from(rounded).unwrap_or(i64::MAX))
}

fn total(amounts: impl Iterator<Item = Money>) -> Money {
    Money::from_minor(amounts.fold(0, |sum, m| i64::saturating_add(sum, m.minor())))
}

fn line(
    group: &str,
    name: impl Into<String>,
    thousandths: i64,
    unit: impl Into<String>,
    each: Money,
) -> PriceLine {
    PriceLine {
        group: group.to_string(),
        name: name.into(),
        quantity: thousandths as f64 / 1e3,
        unit: unit.into(),
        each: each.into(),
        amount: share(each, thousandths, 1000).into(),
    }
}

/// A computed quantity in thousandths.
fn thousandths(quantity: f64) -> i64 {
    (quantity * 1e3).round() as i64
}

/// Whole packs of a size. What floating point leaves over of a full pack opens no other.
fn packs(quantity: f64, pack: f64) -> i64 {
    ((quantity / pack - 1e-9).ceil().max(0.0)) as i64 * 1000
}

fn lines(work: &Work<'_>, tenths: i64, items: &[Item]) -> Vec<(PriceLine, Weight)> {
    let (plan, shop) = (work.plan, &work.job.shop);
    let (rates, finish) = (&shop.reckoning.rates, &shop.reckoning.finish);
    let all = |weight: fn(&Item) -> f64| items.iter().map(weight).sum::<f64>();
    let by = |weight: fn(&Item) -> f64| -> Weight { Box::new(weight) };
    let mut lines: Vec<(PriceLine, Weight)> = Vec::new();
    // What is only counted costs nobody knows what.
    let each = |price: Money| if plan.priced() { price } else { Money::ZERO };
    for buy in &plan.buy.sheets {
        lines.push((
            line("material", &buy.name, i64::from(buy.count) * 1000, "sheets", each(*buy.price)),
            by(|i| i.sheet),
        ));
    }
    lines.extend(credits(work).into_iter().map(|line| (line, by(|i| i.sheet))));
    for buy in &plan.buy.lumber {
        lines.push((
            line("material", &buy.name, i64::from(buy.count) * 1000, "sticks", each(*buy.price)),
            by(|i| i.lumber),
        ));
    }
    let bottle = shop.pattern.glue.bottle;
    let grams = all(|i| i.glue);
    let unit = format!("bottles of {} g", decimals(bottle, 0));
    lines.push((line("glue", "glue", packs(grams, bottle), unit, rates.glue), by(|i| i.glue)));
    let ml = all(|i| i.finish);
    let unit = format!("tins of {} ml", decimals(finish.tin, 0));
    lines.push((line("finish", &finish.name, packs(ml, finish.tin), unit, rates.finish), by(|i| i.finish)));
    let kinds: BTreeSet<Hardware> =
        items.iter().flat_map(|item| item.hardware.iter().map(|(kind, _)| *kind)).collect();
    for kind in kinds {
        let each = if matches!(kind, Hardware::Dowel(..)) { rates.dowel } else { rates.screw };
        let count = thousandths(items.iter().map(|item| item.of(kind)).sum());
        let weight: Weight = Box::new(move |item| item.of(kind));
        lines.push((line("hardware", kind.name(work.words()), count, "pieces", each), weight));
    }
    let sawn = thousandths(sawn_metres(work) / 100.0);
    lines.push((line("wear", "saw blades", sawn, "100 m of cut", rates.sawing), by(|i| i.sheet)));
    let planed = thousandths(all(|i| i.planing) / 100.0);
    lines.push((line("wear", "planer knives", planed, "100 m of feed", rates.planing), by(|i| i.planing)));
    let sanded = thousandths(all(|i| i.sanding));
    let unit = "m² sanded with one grit";
    lines.push((line("wear", "abrasives", sanded, unit, rates.abrasive), by(|i| i.sanding)));
    // Minutes come in tenths: 600 of them are an hour.
    let hours = (tenths * 1000 + 300) / 600;
    lines.push((line("labour", "labour", hours, "hours", rates.labour), by(|i| i.minutes)));
    lines.push((line("overhead", "overhead", hours, "hours", rates.overhead), by(|i| i.minutes)));
    lines.retain(|(line, _)| line.quantity != 0.0);
    lines
}

/// Offcuts worth keeping, each as its share of a sheet by area, at so many per cent of the sheet's price (T91).
fn credits(work: &Work<'_>) -> Vec<PriceLine> {
    let percent = work.job.shop.reckoning.rates.offcut_credit;
    if percent == 0.0 || !work.plan.priced() {
        return Vec::new();
    }
    let mut credits = Vec::new();
    for buy in &work.plan.buy.sheets {
        let Some(sheet) = work.plan.sheets.iter().find(|s| s.name == buy.name) else { continue };
        let whole = sheet.length.to_mm() * sheet.width.to_mm();
        let kept: f64 = work
            .plan
            .layouts
            .iter()
            .filter(|l| l.sheet == buy.name)
            .flat_map(|l| l.offcuts.iter().filter(|o| o.keep).map(|o| (f64::from(l.times), o)))
            .map(|(times, o)| times * o.length.to_mm() * o.width.to_mm() / whole)
            .sum();
        let each = share(*buy.price, -(percent * 1e3).round() as i64, 100_000);
        credits.push(line(
            "material",
            format!("offcuts of {}, credited", buy.name),
            thousandths(kept),
            "sheets",
            each,
        ));
    }
    credits
}

/// Metres that blades cut: sheets, lumber not counted, and slabs.
fn sawn_metres(work: &Work<'_>) -> f64 {
    let sheets: f64 = work
        .plan
        .layouts
        .iter()
        .map(|l| f64::from(l.times) * l.cuts.iter().map(|c| (*c.to - *c.from).to_mm()).sum::<f64>() / 1e3)
        .sum();
    sheets + (0..work.tops.len()).map(|top| bands_metres(work, top)).sum::<f64>()
}

fn items(work: &Work<'_>, steps: &[Step]) -> Vec<Item> {
    let mut items = bare_items(work);
    // Steps of one top or base are its own; the whole job's are shared: finishing by what is finished, the rest by
    // what is cut from sheets.
    let base = |step: &Step| step.stage == "base";
    let own = |item: &Item, step: &Step| {
        step.of == item.name && if base(step) { item.kind == "base" } else { item.kind == "top" }
    };
    for step in steps {
        let weights: Vec<f64> = items
            .iter()
            .map(|item| match (step.of.is_empty(), step.stage.as_str()) {
                (false, _) => f64::from(u8::from(own(item, step))),
                (true, "finish") => item.finish,
                (true, "base") => item.lumber,
                (true, "parts") => {
                    if item.kind == "part" {
                        item.sheet
                    } else {
                        0.0
                    }
                }
                (true, _) => item.sheet,
            })
            .collect();
        let sum: f64 = weights.iter().sum();
        for (item, weight) in items.iter_mut().zip(&weights) {
            if sum > 0.0 {
                item.minutes += step.minutes * weight / sum;
            }
        }
    }
    items
}

/// Everything that is made, with what it takes, but not yet its minutes.
fn bare_items(work: &Work<'_>) -> Vec<Item> {
    let blank = |kind, name: &str, count| Item { kind, name: name.to_string(), count, ..Item::default() };
    let mut items = Vec::new();
    let grits = work.job.shop.reckoning.grits.len() as f64;
    for (n, top) in work.plan.tops.iter().enumerate() {
        let strips: f64 = top
            .slabs
            .iter()
            .flat_map(|s| s.strips.iter().map(move |strip| (f64::from(s.times), strip)))
            .map(|(times, s)| times * f64::from(s.count) * s.length.to_mm() * s.width.to_mm() / 1e6)
            .sum();
        items.push(Item {
            sheet: strips,
            glue: top.glue.iter().map(|g| g.grams).sum(),
            finish: millilitres(work, n) * f64::from(top.count),
            planing: top.planer.iter().map(|p| p.feed).sum(),
            sanding: surface(work, n).total() * f64::from(top.count) * grits,
            strips: top.strips_total,
            mass: top.mass.map(|grams| grams / 1e3),
            ..blank("top", &top.name, top.count)
        });
    }
    for base in work.bases {
        items.push(Item {
            lumber: base.sticks.iter().map(|s| s.length.to_mm() * f64::from(s.count) / 1e3).sum(),
            finish: base_millilitres(work, base) * f64::from(base.count),
            sanding: base_surface(base) * f64::from(base.count) * grits,
            glue: base_glue(work, base) * f64::from(base.count),
            hardware: dowels(base)
                .into_iter()
                .map(|((diameter, length), each)| (Hardware::Dowel(diameter, length), each * base.count))
                .chain(screws(base))
                .collect(),
            ..blank("base", &base.name, base.count)
        });
    }
    for part in &work.job.parts {
        items.push(Item {
            sheet: part.length.to_mm() * part.width.to_mm() * f64::from(part.count) / 1e6,
            ..blank("part", &part.name, part.count)
        });
    }
    for stick in &work.job.sticks {
        items.push(Item {
            lumber: stick.length.to_mm() * f64::from(stick.count) / 1e3,
            ..blank("stick", &stick.name, stick.count)
        });
    }
    items
}

/// The screws of all bases of a kind: through rails or cleats into the top, and those that hold the cleats.
fn screws(base: &Base) -> Vec<(Hardware, u32)> {
    let Some(fixings) = &base.fixings else { return Vec::new() };
    let into_top = (fixings.count, fixings.length);
    let kinds = [Some(into_top), fixings.cleat_screws].into_iter().flatten();
    kinds.map(|(count, length)| (Hardware::Screw(fixings.number, length), count * base.count)).collect()
}

/// Shares an amount out in proportion, in whole minor units that sum to it exactly: each gets the whole part of its
/// share, and the units left over go to the largest remainders, the first of equals first.
fn divide(amount: Money, weights: &[f64]) -> Vec<Money> {
    if weights.is_empty() {
        return Vec::new();
    }
    let most = weights.iter().copied().fold(0.0, f64::max);
    // Whole weights of at most 2^40: exact, and far finer than a minor unit of any job.
    let scaled: Vec<i128> = if most > 0.0 {
        weights.iter().map(|w| (w / most * (1u64 << 40) as f64).round() as i128).collect()
    } else {
        vec![1; weights.len()]
    };
    let sum: i128 = scaled.iter().sum();
    let (size, sign) = (i128::from(amount.minor()).abs(), if amount.minor() < 0 { -1 } else { 1 });
    let mut parts: Vec<i128> = scaled.iter().map(|w| size * w / sum).collect();
    let mut order: Vec<usize> = (0..parts.len()).collect();
    order.sort_by_key(|&n| (-(size * scaled[n] % sum), n));
    let left = size - parts.iter().sum::<i128>();
    for &n in order.iter().take(usize::try_from(left).unwrap_or(0)) {
        parts[n] += 1;
    }
    parts.into_iter().map(|p| Money::from_minor(i64::try_from(p * sign).unwrap_or(0))).collect()
}

fn quotes(items: &[Item], lines: &[(PriceLine, Weight)], margin: Money, words: Words) -> Vec<Quote> {
    let mut groups: Vec<&str> = Vec::new();
    for (line, _) in lines {
        if !groups.contains(&line.group.as_str()) {
            groups.push(&line.group);
        }
    }
    let mut shares = vec![vec![Money::ZERO; groups.len()]; items.len()];
    for (line, weight) in lines {
        let group = groups.iter().position(|g| *g == line.group).unwrap_or(0);
        let weights: Vec<f64> = items.iter().map(weight).collect();
        for (share, part) in shares.iter_mut().zip(divide(*line.amount, &weights)) {
            share[group] = total([share[group], part].into_iter());
        }
    }
    let costs: Vec<Money> = shares.iter().map(|own| total(own.iter().copied())).collect();
    let weights: Vec<f64> = costs.iter().map(|c| c.minor().max(0) as f64).collect();
    let margins = divide(margin, &weights);
    let quote = |((item, own), (cost, margin)): ((&Item, Vec<Money>), (&Money, Money))| {
        let all = total([*cost, margin].into_iter());
        Quote {
            kind: item.kind.to_string(),
            name: item.name.clone(),
            count: item.count,
            shares: groups
                .iter()
                .zip(own)
                .map(|(group, amount)| Share { group: group.to_string(), amount: amount.into() })
                .collect(),
            cost: (*cost).into(),
            margin: margin.into(),
            total: all.into(),
            one: Money::from_minor(round_up(all.minor(), i64::from(item.count.max(1)))).into(),
            quantities: quantities(item, words),
        }
    };
    items.iter().zip(shares).zip(costs.iter().zip(margins)).map(quote).collect()
}

fn round_up(amount: i64, count: i64) -> i64 {
    amount.div_euclid(count) + i64::from(amount.rem_euclid(count) != 0)
}

fn quantities(item: &Item, words: Words) -> Vec<Quantity> {
    let copies = f64::from(item.count.max(1));
    let tidy = |v: f64| (v * 1e3).round() / 1e3;
    let mut all = Vec::new();
    let mut give = |name: &str, unit: &str, amount: f64| {
        if amount > 0.0 {
            let (one, of_all) = (tidy(amount / copies), tidy(amount));
            all.push(Quantity { name: name.to_string(), unit: unit.to_string(), one, all: of_all });
        }
    };
    give("strips", "pieces", f64::from(item.strips));
    give("sheet in its pieces", "m²", item.sheet);
    give("lumber", "m", item.lumber);
    give("glue", "g", item.glue);
    give("finish", "ml", item.finish);
    for (kind, count) in &item.hardware {
        give(&kind.name(words), "pieces", f64::from(*count));
    }
    give("work", "min", item.minutes);
    give("mass", "kg", item.mass.unwrap_or(0.0) * copies);
    all
}

fn basis(work: &Work<'_>) -> Vec<String> {
    let rates = &work.job.shop.reckoning.rates;
    let mut basis = vec![
        "Each line is its quantity, kept to a thousandth, times its price, rounded half up to a whole minor unit; all sums are \
         sums of whole minor units."
            .to_string(),
        "Sheets, sticks, bottles and tins are charged whole, as bought.".to_string(),
        "What is paid for in common is shared out by area of sheet, length of lumber, grams of glue, millilitres of finish or \
         minutes of work; units left over by rounding go to the largest remainders."
            .to_string(),
        "The price of one is the price of all, divided and rounded up.".to_string(),
        "Minutes are the shop's own (`shop.times`) and waiting is not charged; there is no published table of them for this work."
            .to_string(),
    ];
    let unpriced: Vec<&str> = [
        ("labour", rates.labour),
        ("overhead", rates.overhead),
        ("glue", rates.glue),
        ("finish", rates.finish),
        ("dowel", rates.dowel),
        ("screw", rates.screw),
        ("sawing", rates.sawing),
        ("planing", rates.planing),
        ("abrasive", rates.abrasive),
    ]
    .into_iter()
    .filter(|(_, rate)| *rate == Money::ZERO)
    .map(|(key, _)| key)
    .collect();
    if !unpriced.is_empty() {
        basis.push(format!(
            "{} of `shop.rates` {} nothing: {}. The quote is short by what they really cost.",
            count(unpriced.len() as u64, "rate", "rates"),
            if unpriced.len() == 1 { "is" } else { "are" },
            crate::wording::list(&unpriced, "and")
        ));
    }
    basis
}

#[cfg(test)]
mod tests {
    use super::*;

    fn money(minor: i64) -> Money {
        Money::from_minor(minor)
    }

    #[test]
    fn lines_round_half_up() {
        for (thousandths, each, amount) in
            [(1000, 9200, 9200), (1500, 333, 500), (1, 499, 0), (1, 500, 1), (500, -3, -2), (0, 999, 0)]
        {
            assert_eq!(
                *line("g", "n", thousandths, "u", money(each)).amount,
                money(amount),
                "{thousandths} x {each}"
            );
        }
    }

    #[test]
    fn shares_sum_to_the_whole_and_follow_the_weights() {
        for (amount, weights, shares) in [
            (100, &[1.0, 1.0, 1.0][..], &[34, 33, 33][..]),
            (100, &[0.0, 3.0, 1.0], &[0, 75, 25]),
            (-100, &[1.0, 2.0], &[-33, -67]),
            (5, &[0.0, 0.0], &[3, 2]),
            (1, &[0.1, 0.2, 0.7], &[0, 0, 1]),
        ] {
            let divided: Vec<i64> = divide(money(amount), weights).iter().map(|m| m.minor()).collect();
            assert_eq!(divided, shares);
        }
        assert_eq!(divide(money(7), &[]), []);
    }

    #[test]
    fn packs_are_bought_whole() {
        assert_eq!((packs(0.0, 500.0), packs(500.0, 500.0), packs(500.1, 500.0)), (0, 1000, 2000));
        assert_eq!((round_up(10, 3), round_up(9, 3), round_up(-10, 3)), (4, 3, -3));
    }
}
