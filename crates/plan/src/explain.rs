//! What binds a plan, in sentences: which price each size carries, and what a sheet more or less would need.

use crate::plan::{Leaf, Plan};
use crate::wording::count;
use crate::words::{Words, decimals, join, letter};

/// What binds, from the plan alone.
#[must_use]
pub fn explain(plan: &Plan) -> Vec<String> {
    let mut said = vec![bound(plan)];
    let Some((leaf, worth)) = weakest(plan) else {
        said.push("There is no certificate to read prices from.".to_string());
        return said;
    };
    if plan.certificate.leaves.len() > 1 {
        said.push(format!(
            "The proof parts the purchases into {}; the prices below are those of the case that comes out lowest.",
            count(plan.certificate.leaves.len() as u64, "case", "cases")
        ));
    }
    if let cases @ 1.. = plan.certificate.leaves.iter().filter(|leaf| !leaf.forks.is_empty()).count() {
        said.push(format!(
            "{} of them {} of purchases that hold everything in fractions of strips and sheets, but in no whole ones: told apart \
             by how many strips of a width, or pieces in them, or sheets cut one way a plan has, and closed one by one.",
            cases,
            if cases == 1 { "is a case" } else { "are cases" }
        ));
    }
    said.extend(prices(plan, leaf));
    said.push(format!(
        "All that is wanted is worth {} at these prices, and no layout of any sheet holds more than the sheet costs: whatever is \
         bought, its prices sum to that or more.",
        shown(plan, worth)
    ));
    said.extend(sheets(plan, leaf, worth));
    said
}

/// A worth in the certificate's own units: minor units times its scale.
fn shown(plan: &Plan, worth: i128) -> String {
    let minor = worth as f64 / plan.certificate.scale.max(1) as f64;
    plan.in_currency(&decimals(minor / 100.0, 2))
}

fn bound(plan: &Plan) -> String {
    let total = plan.show_money(*plan.buy.total);
    let buys = if plan.priced() { "buys for" } else { "takes" };
    if plan.bound.proven {
        let less = if plan.priced() { "buys for less" } else { "takes fewer" };
        format!("The plan {buys} {total}, and no plan {less}: bound and plan meet.")
    } else {
        let less = if plan.priced() { "buys for less than" } else { "takes fewer than" };
        format!(
            "The plan {buys} {total}; no plan {less} {}. Between the two, {} %, the answer is not known: a larger \
             budget of work may close it.",
            plan.show_money(*plan.bound.money),
            decimals(plan.bound.gap * 100.0, 2)
        )
    }
}

/// The leaf whose prices give the least, with what everything wanted is worth at them.
fn weakest(plan: &Plan) -> Option<(&Leaf, i128)> {
    let product = |a: u32, b: &i64| i128::from(a) * i128::from(*b);
    let worth = |leaf: &Leaf| -> i128 {
        let pieces: i128 = plan.demands.iter().zip(&leaf.pieces).map(|(d, y)| product(d.count, y)).sum();
        let covers: i128 = plan.covers.iter().zip(&leaf.covers).map(|(c, w)| product(c.count, w)).sum();
        pieces + covers
    };
    // Prices of a case with forks have a measure of their own.
    let plain = |leaf: &&Leaf| leaf.forks.is_empty();
    plan.certificate
        .leaves
        .iter()
        .filter(plain)
        .map(|leaf| (leaf, worth(leaf)))
        .min_by_key(|(_, worth)| *worth)
}

/// How many of a size the plan uses: as plain pieces and in slabs.
fn used(plan: &Plan, demand: usize) -> u32 {
    let wanted = &plan.demands[demand];
    let in_slabs: u32 = plan
        .makes
        .iter()
        .flat_map(|make| make.uses.iter().map(move |(id, n)| (make.times, id, *n)))
        .filter(|(_, id, _)| **id == wanted.id)
        .map(|(times, _, n)| times * n)
        .sum();
    wanted.count + in_slabs
}

fn prices(plan: &Plan, leaf: &Leaf) -> Vec<String> {
    let words = Words { system: plan.units.system() };
    let mut said = Vec::new();
    let mut free: Vec<String> = Vec::new();
    // Dearest first, among those that the plan uses.
    let mut order: Vec<usize> = (0..plan.demands.len()).filter(|&n| used(plan, n) > 0).collect();
    order.sort_by_key(|&n| (-leaf.pieces.get(n).copied().unwrap_or(0), n));
    for n in order {
        let (demand, price) = (&plan.demands[n], leaf.pieces.get(n).copied().unwrap_or(0));
        let name = format!(
            "{} ({} by {})",
            letter(plan, &demand.id),
            words.length(*demand.length),
            words.length(*demand.width)
        );
        if price == 0 {
            free.push(name);
            continue;
        }
        let used = used(plan, n);
        said.push(format!(
            "{name}: each carries {}, the {used} of the plan {}.",
            shown(plan, i128::from(price)),
            shown(plan, i128::from(price) * i128::from(used))
        ));
    }
    if !free.is_empty() {
        said.push(format!(
            "{} {} no price: more of {} could be cut from what is left over.",
            join(&free),
            if free.len() == 1 { "carries" } else { "carry" },
            if free.len() == 1 { "it" } else { "them" }
        ));
    }
    for (cover, &price) in plan.covers.iter().zip(&leaf.covers).filter(|(_, price)| **price > 0) {
        said.push(format!(
            "{}: each carries {}, the {} of the plan {}.",
            short(&cover.name),
            shown(plan, i128::from(price)),
            cover.count,
            shown(plan, i128::from(price) * i128::from(cover.count))
        ));
    }
    said
}

/// A name that lists many bands, with only the first and the last of them.
fn short(name: &str) -> String {
    match (name.split_once('/'), name.rsplit_once('/')) {
        (Some((first, _)), Some((_, last))) if name.matches('/').count() > 3 => format!("{first} to {last}"),
        _ => name.to_string(),
    }
}

/// What one sheet less, one sheet more, or a looser limit would need.
fn sheets(plan: &Plan, leaf: &Leaf, worth: i128) -> Vec<String> {
    let mut said = Vec::new();
    let scale = i128::from(plan.certificate.scale.max(1));
    // Lumber is bought and bounded by itself.
    let total: i128 =
        plan.buy.sheets.iter().map(|b| i128::from(b.price.minor()) * i128::from(b.count)).sum::<i128>()
            * scale;
    let priced = || plan.buy.sheets.iter().filter(|b| b.price.minor() > 0);
    if let Some(least) = priced().min_by_key(|b| *b.price) {
        let left = total - i128::from(least.price.minor()) * scale;
        // Without that sheet, what is left must be worth no more than the other sheets cost.
        if worth > left {
            said.push(format!(
                "With one sheet of {} less, pieces worth {} would have no place{}.",
                least.name,
                shown(plan, worth - left),
                like(plan, leaf, worth - left)
            ));
        }
        let room = total - worth;
        said.push(format!(
            "One sheet more is called for at the latest when pieces worth {} more are wanted{}.",
            shown(plan, room),
            like(plan, leaf, room + 1)
        ));
    }
    for (sheet, &price) in plan.sheets.iter().zip(&leaf.upper).filter(|(_, price)| **price > 0) {
        said.push(format!(
            "The limit on {} binds: one more of them would be worth up to {} besides its price.",
            sheet.name,
            shown(plan, i128::from(price))
        ));
    }
    said
}

/// ": 7 of C, for example", by the dearest size or cover.
fn like(plan: &Plan, leaf: &Leaf, worth: i128) -> String {
    let pieces = plan.demands.iter().enumerate().zip(&leaf.pieces);
    let plain =
        pieces.filter(|((_, d), y)| d.count > 0 && **y > 0).map(|((_, d), y)| (*y, letter(plan, &d.id)));
    let covers = plan.covers.iter().zip(&leaf.covers).filter(|(_, w)| **w > 0);
    let covers = covers.map(|(c, w)| (*w, short(&c.name)));
    let dearest = plain.chain(covers).max_by(|a, b| a.0.cmp(&b.0).then_with(|| b.1.cmp(&a.1)));
    match dearest {
        Some((price, name)) => {
            let n = (worth + i128::from(price) - 1) / i128::from(price);
            format!(": {n} of {name}, for example")
        }
        None => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use stripwright_units::{Length, Money};

    use super::*;
    use crate::plan::{BuySheet, Certificate, Counted, Cover, Demand, Direction, Fork, Make};
    use crate::steps::tests::empty_plan;

    /// Two sizes and a band on one kind of sheet of 92.00: A carries 10.00, B nothing, the band 6.00; two sheets.
    fn plan() -> Plan {
        let demand = |id: &str, count| Demand {
            id: id.into(),
            length: Length::from_mm(600).into(),
            width: Length::from_mm(36).into(),
            count,
            spare: 0,
            may_turn: false,
            sheets: vec!["birch".into()],
        };
        let mut plan = empty_plan();
        plan.currency = "EUR".into();
        plan.demands = vec![demand("a", 12), demand("b", 5)];
        plan.covers = vec![Cover { name: "table top, band 1".into(), count: 4 }];
        plan.makes =
            vec![Make { name: "m".into(), yields: vec![(0, 1)], uses: vec![("b".into(), 2)], times: 4 }];
        plan.buy.sheets =
            vec![BuySheet { name: "birch".into(), count: 2, price: Money::from_minor(9200).into() }];
        plan.buy.total = Money::from_minor(18400).into();
        plan.bound.money = Money::from_minor(18400).into();
        let leaf = Leaf { pieces: vec![10_000, 0], covers: vec![6_000], ..Leaf::default() };
        plan.certificate = Certificate { scale: 10, leaves: vec![leaf], ..Certificate::default() };
        plan
    }

    #[test]
    fn prices_are_said_in_money_and_add_up() {
        let said = explain(&plan()).join("\n");
        for part in [
            "no plan buys for less",
            "A (600 mm by 36 mm): each carries 10 EUR, the 12 of the plan 120 EUR.",
            "B (600 mm by 36 mm) carries no price",
            "table top, band 1: each carries 6 EUR, the 4 of the plan 24 EUR.",
            "worth 144 EUR",
            // 144 less the 92 that one sheet fewer would buy: 52, or six A; 184 less 144: forty, and five A go beyond it.
            "one sheet of birch less, pieces worth 52 EUR would have no place: 6 of A",
            "pieces worth 40 EUR more are wanted: 5 of A",
        ] {
            assert!(said.contains(part), "{part}\nin\n{said}");
        }
    }

    #[test]
    fn what_has_no_price_is_told_in_sheets() {
        let mut plan = plan();
        plan.assumed.push(crate::plan::Assumed { key: "sheets[].price".into(), value: "1.00".into() });
        plan.buy.sheets[0].price = Money::from_minor(100).into();
        plan.buy.total = Money::from_minor(200).into();
        plan.bound.money = Money::from_minor(200).into();
        plan.certificate.leaves[0] = Leaf { pieces: vec![100, 0], covers: vec![60], ..Leaf::default() };
        let said = explain(&plan).join("\n");
        for part in [
            "The plan takes 2 sheets, and no plan takes fewer",
            "each carries 0.1 sheets, the 12 of the plan 1.2 sheets",
        ] {
            assert!(said.contains(part), "{part}\nin\n{said}");
        }
        assert!(!said.contains("EUR"), "{said}");
        plan.assumed.clear();
        plan.currency = "money".into();
        assert_eq!(plan.show_money(Money::from_minor(200)), "2.00");
    }

    /// Cases with forks have prices in a measure of their own: they are said to be there, and not shown as money.
    #[test]
    fn cases_are_counted_and_their_prices_left_out() {
        let mut plan = plan();
        let fork = Fork {
            sheets: vec![0],
            first: Direction::Rip,
            count: Counted::Strips { width: Length::from_mm(36).into() },
            at: 3,
            more: true,
            price: 4,
        };
        let case = |more| Leaf {
            pieces: vec![1, 1],
            covers: vec![1],
            forks: vec![Fork { more, ..fork.clone() }],
            ..Leaf::default()
        };
        plan.certificate.leaves.extend([case(true), case(false)]);
        let said = explain(&plan).join("\n");
        for part in
            ["into 3 cases", "2 of them are cases of purchases", "each carries 10 EUR", "worth 144 EUR"]
        {
            assert!(said.contains(part), "{part}\nin\n{said}");
        }
    }
}
