//! Sticks onto boards: which boards to buy, and every stick's place on them.
//!
//! A board is a narrow sheet: it is crosscut into lengths, these are ripped into lanes as wide as a stick, and the lanes crosscut. A board thick
//! enough is resawn, and each length of lane then gives several sticks one above another. Because a stick may lie flat in one
//! kind of board and on edge in another, each way is a make of the packing problem that yields so many sticks.

use serde::{Deserialize, Serialize};
use stripwright_packing as packing;
use stripwright_packing::{Budget, Progress};
use stripwright_splay as splay;
use stripwright_units::Money;

use crate::fault::Fault;
use crate::figures::{Minor, Mm};
use crate::job::Job;
use crate::plan::{BuyLumber, Certificate, Cover, Stick};

mod asked;
mod check;
mod write;
mod yields;

pub(crate) use asked::Sticks;
pub(crate) use check::{audit, differences};
pub(crate) use write::again;

use asked::ask;

/// The boards of a plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Boards {
    /// What to buy, in the job's order of lumber.
    pub buy: Vec<BuyLumber>,
    /// Distinct boards, each with how many are cut that way.
    pub sticks: Vec<Stick>,
    /// What they cost.
    pub money: Money,
    /// What was asked, how good the answer is, and why.
    pub stated: BoardsPlan,
}

/// What the boards were asked for and why they cannot be had for less: enough to check it without the solver.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BoardsPlan {
    /// No choice of boards costs less.
    pub bound: Minor,
    /// True when the boards cost no more than that.
    pub proven: bool,
    /// Bought, in cubic metres.
    pub cubic_metres: f64,
    /// Bought, in board feet of the actual sections.
    pub board_feet: f64,
    /// How many sticks the sections of the lumber yield.
    pub yields: Vec<SectionYield>,
    /// What those yields allow for, in sentences.
    pub reckoned: Vec<String>,
    /// The lumber there was to choose from.
    pub lumber: Vec<BoardKind>,
    /// Sizes of lane piece, each one or more sticks one above another.
    pub demands: Vec<BoardDemand>,
    /// Sticks that may be had in several ways.
    pub covers: Vec<Cover>,
    /// Those ways.
    pub makes: Vec<BoardMake>,
    /// Lane pieces beyond what is asked for: (index into `demands`, how many).
    pub spare: Vec<(usize, u32)>,
    /// Why nothing costs less.
    pub certificate: Certificate,
}

/// How many sticks of one sawn section the section of a kind of lumber yields.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct SectionYield {
    /// The lumber's name.
    pub lumber: String,
    /// What the sticks become.
    pub parts: Vec<String>,
    /// Section of a stick as sawn.
    pub sawn: [Mm; 2],
    /// Side by side in the board's width.
    pub across: u32,
    /// One above another in its thickness.
    pub layers: u32,
    /// What is left of the board's width.
    pub left_over: Mm,
    /// The same in a sentence.
    pub sentence: String,
}

/// A kind of lumber as the packing met it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct BoardKind {
    /// Its name.
    pub name: String,
    /// Its length.
    pub length: Mm,
    /// Its width.
    pub width: Mm,
    /// What squaring an edge takes off.
    pub edge: Mm,
    /// Price of one.
    pub price: Minor,
    /// How many there are.
    pub limit: Option<u32>,
}

/// A size of lane piece.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct BoardDemand {
    /// What it becomes.
    pub part: String,
    /// Its length.
    pub length: Mm,
    /// Width of its lane.
    pub width: Mm,
    /// Sticks one above another.
    pub layers: u32,
    /// How many are wanted as such.
    pub count: u32,
    /// Indices of the lumber it may be cut from.
    pub lumber: Vec<usize>,
}

/// One way to have sticks: one lane piece gives as many as it has layers.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct BoardMake {
    /// Index into `covers`.
    pub cover: usize,
    /// Index into `demands`.
    pub demand: usize,
    /// How often it is used.
    pub times: u32,
}

/// What the sticks of all bases, and the job's plain lengths, ask of its lumber; nothing when the job has no lumber or
/// needs no sticks.
///
/// # Errors
/// Every stick that fits no board, with what would hold it.
pub(crate) fn sticks(job: &Job, bases: &[splay::Base]) -> Result<Option<Sticks>, Vec<Fault>> {
    if job.lumber.is_empty() || (job.bases.is_empty() && job.sticks.is_empty()) {
        return Ok(None);
    }
    let asked = ask(job, bases)?;
    let misfits = packing::misfits(&asked.problem);
    if misfits.is_empty() {
        return Ok(Some(asked));
    }
    Err(misfits.iter().map(|refusal| asked.refused(job, refusal)).collect())
}

/// Cuts the sticks of all bases, and the job's plain lengths, from the job's lumber; nothing when the job has no lumber or
/// needs no sticks.
///
/// # Errors
/// Every stick that fits no board; limits that are too small.
pub fn boards(
    job: &Job,
    bases: &[splay::Base],
    budget: &Budget,
    progress: &mut (dyn FnMut(&Progress) -> bool + Send),
) -> Result<Option<Boards>, Vec<Fault>> {
    sticks(job, bases)?.map(|sticks| sticks.boards(job, budget, progress)).transpose()
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use stripwright_units::Length;

    use super::*;
    use crate::plan::{Plan, StickPiece};

    fn planned(job: &str) -> Result<Option<Boards>, Vec<Fault>> {
        let job = Job::read(job).unwrap();
        let bases = crate::base::bases(&job).unwrap();
        boards(&job, &bases, &Budget::default(), &mut |_| true)
    }

    /// T92: 28 in from 10 ft gives 4, from 12 ft gives 5; with a 1/8 in kerf still 4 (Army course EN0069A, verified; the kerf derived).
    #[test]
    fn plain_lengths_as_published() {
        for (kerf, feet, fit) in [("0", 10, 4), ("0", 12, 5), ("1/8", 10, 4)] {
            let job = format!(
                r#"{{"units":"in","shop":{{"table_saw":{{"kerf":"{kerf} in"}}}},"lumber":[{{"name":"l","length":"{feet} ft","price":10}}],
                    "sticks":[{{"name":"rail","length":28,"count":{fit}}}]}}"#
            );
            let boards = planned(&job).unwrap().unwrap();
            assert_eq!((boards.buy[0].count, boards.stated.proven), (1, true));
            assert_eq!(boards.sticks[0].pieces.len(), fit);
            let one_more = job.replace(&format!("\"count\":{fit}"), &format!("\"count\":{}", fit + 1));
            assert_eq!(planned(&one_more).unwrap().unwrap().buy[0].count, 2);
        }
    }

    const FRAME: &str = r#""bases":[{"name":"frame","count":4,"height":"700 mm","front_lean":6,"side_lean":6,
        "leg":"32 mm","top_spread":"260 mm","rungs":["140 mm"]}]"#;

    /// Beside legs that are ripped from a squared edge, a rail that is cut from the same lumber stays as wide as that is.
    #[test]
    fn plain_lengths_keep_the_width_of_their_board() {
        let boards = planned(&format!(
            r#"{{"lumber":[{{"name":"ash","section":[95,45],"length":2400,"price":"18.50"}}],
                "sticks":[{{"name":"rail","length":"900 mm","count":3}}],{FRAME}}}"#
        ))
        .unwrap()
        .unwrap();
        assert!(boards.stated.lumber[0].edge.is_positive());
        let pieces = || boards.sticks.iter().flat_map(|stick| &stick.pieces);
        let rails: Vec<&StickPiece> = pieces().filter(|piece| piece.part == "rail").collect();
        assert!(!rails.is_empty());
        assert!(rails.iter().all(|p| (*p.y, *p.width) == (Length::ZERO, Length::from_mm(95))), "{rails:?}");
        let words = crate::words::Words { system: stripwright_units::System::Metric };
        let cuts = crate::base::cuts(&boards.sticks, words).join(" ");
        assert!(cuts.contains("× 900 mm (rail)") && !cuts.contains("for 2 × 900"), "{cuts}");
    }

    #[test]
    fn legs_and_rungs_find_their_lanes() {
        let boards = planned(&format!(
            r#"{{"lumber":[{{"name":"ash","section":[95,45],"length":2400,"price":"18.50"}}],{FRAME}}}"#
        ))
        .unwrap()
        .unwrap();
        assert!(boards.stated.proven);
        assert_eq!(boards.money, *boards.stated.bound);
        // Every stick is there, inside its board, clear of the squared edge and of every other by a kerf.
        let mut counts: BTreeMap<&str, u32> = BTreeMap::new();
        for stick in &boards.sticks {
            for (n, piece) in stick.pieces.iter().enumerate() {
                *counts.entry(piece.part.as_str()).or_default() += stick.times * piece.layers;
                assert!(piece.y.0 >= Length::from_mm(5) && piece.y.0 + piece.width.0 <= Length::from_mm(95));
                assert!(piece.x.0 + piece.length.0 <= Length::from_mm(2400));
                for other in &stick.pieces[..n] {
                    let kerf = Length::from_um(3200);
                    let clear = |a: Length, b: Length, c: Length| a + b + kerf <= c;
                    assert!(
                        clear(piece.x.0, piece.length.0, other.x.0)
                            || clear(other.x.0, other.length.0, piece.x.0)
                            || clear(piece.y.0, piece.width.0, other.y.0)
                            || clear(other.y.0, other.width.0, piece.y.0)
                    );
                }
            }
        }
        for (part, count) in
            [("frame leg", 16), ("frame front and back rung 1", 8), ("frame left and right rung 1", 8)]
        {
            assert!(counts[part] >= count, "{counts:?}");
        }
        let boards_bought = f64::from(boards.buy[0].count);
        assert!((boards.stated.cubic_metres - boards_bought * 0.095 * 0.045 * 2.4).abs() < 1e-6);
    }

    /// By hand: of 95 mm the squared edge leaves 90; 35 + 3.2 + 35 fit, three do not, 13.6 mm are left after two kerfs. A rung is
    /// 32 + 20 tan 6 = 34.1 mm broad before its bevel, 37.5 as sawn, and 23 thick: three on edge take 3 x 26.2 of the 90.
    #[test]
    fn a_section_is_told_by_the_sticks_it_yields() {
        let lumber = r#"[{"name":"ash","section":[95,45],"length":2400,"price":"18.50"},
            {"name":"lath","section":[40,37],"length":2400,"price":"3.00"},{"name":"dowel rod","length":1000,"price":2}]"#;
        let found = planned(&format!("{{\"lumber\":{lumber},{FRAME}}}")).unwrap().unwrap().stated;
        let legs = &found.yields[0];
        assert_eq!((legs.across, legs.layers, *legs.left_over), (2, 1, Length::from_um(13_600)));
        assert_eq!(
            legs.sentence,
            "A board of ash, 95 mm by 45 mm, yields 2 sticks of 35 mm by 35 mm (frame leg): 2 side by side, 13.6 mm of the width left."
        );
        let rungs = &found.yields[1];
        assert_eq!((rungs.across, rungs.layers, rungs.parts.len()), (3, 1, 2), "{rungs:?}");
        assert!(found.yields.iter().all(|y| y.lumber != "dowel rod"), "what has no section yields nothing");
        let none =
            found.yields.iter().find(|y| y.lumber == "lath" && y.across == 0).map(|y| y.sentence.as_str());
        // 35 mm of its width are left and 37 of its thickness: 37.5 by 23 goes in neither way.
        assert!(none.is_some_and(|said| said.contains("yields no stick")), "{:?}", found.yields);
        assert_eq!(
            found.reckoned,
            [
                "That is with 5 mm taken off to square an edge, a kerf of 3.2 mm beside each stick, and 1.5 mm to plane off each of its faces."
            ]
        );
    }

    fn whole(job: &str) -> Plan {
        let job = Job::read(job).unwrap();
        let mut options =
            crate::Options { budget: Budget::default(), progress: &mut |_| true, compare_slabs: false };
        crate::plan(&job, &mut options).unwrap()
    }

    /// A plan of bases alone goes through JSON and its audit; what is changed in it afterwards is noticed.
    #[test]
    fn boards_are_audited_from_the_plan_alone() {
        let plan = whole(&format!(
            r#"{{"lumber":[{{"name":"ash","section":[95,45],"length":2400,"price":"18.50"}}],{FRAME}}}"#
        ));
        let text = serde_json::to_string(&plan).unwrap();
        let plan: Plan = serde_json::from_str(&text).unwrap();
        assert_eq!(serde_json::to_string(&plan).unwrap(), text);
        let verdict = crate::audit(&plan).unwrap();
        assert_eq!((verdict.money, verdict.proven), (*plan.buy.total, true));
        assert_eq!(plan.bases[0].legs.cuts.len(), 16);
        assert!(
            plan.steps.iter().any(|s| s.id == "lumber") && plan.steps.iter().any(|s| s.id == "base-1-legs")
        );
        let spoil = |change: &dyn Fn(&mut Plan), words: &str| {
            let mut spoiled = plan.clone();
            change(&mut spoiled);
            let found = crate::audit(&spoiled).expect_err(words);
            assert!(found.iter().any(|o| o.contains(words)), "no `{words}` in {found:#?}");
        };
        spoil(&|p| p.sticks[0].times += 1, "are bought");
        spoil(&|p| p.sticks[0].pieces[0].part.push('x'), "not listed");
        spoil(&|p| p.sticks[0].lumber.push('x'), "does not list");
        spoil(&|p| drop(p.sticks[0].pieces.pop()), "Boards: ");
        spoil(&|p| p.sticks[0].pieces[1].x = p.sticks[0].pieces[0].x, "Boards: ");
        spoil(&|p| p.buy.lumber[0].price = Minor(Money::from_minor(1)), "price or length");
        spoil(&|p| p.boards.as_mut().unwrap().certificate.leaves.clear(), "Boards: ");
        spoil(&|p| p.boards = None, "does not say what for");
        spoil(&|p| p.boards.as_mut().unwrap().proven = false, "its lumber is not");
        spoil(&|p| p.boards.as_mut().unwrap().bound = Minor(Money::from_minor(99_999)), "");
    }

    #[test]
    fn a_base_without_lumber_is_planned_all_the_same() {
        let plan = whole(&format!("{{{FRAME}}}"));
        assert!(plan.boards.is_none() && plan.buy.lumber.is_empty());
        assert_eq!(plan.bases[0].sticks.len(), 3);
        assert!(crate::audit(&plan).is_ok());
    }

    #[test]
    fn lumber_that_is_too_small_is_refused_by_name() {
        let faults = planned(&format!(
            r#"{{"lumber":[{{"name":"lath","section":[30,30],"length":2400,"price":1}}],{FRAME}}}"#
        ))
        .unwrap_err();
        assert!(
            faults[0].text.contains("holds a leg of 35 mm by 35 mm")
                && faults[0].text.contains("the nearest, `lath`, lacks 10 mm of width and 5 mm of thickness"),
            "{}",
            faults[0]
        );
        let short = planned(&format!(
            r#"{{"lumber":[{{"name":"ash","section":[95,45],"length":700,"price":1}}],{FRAME}}}"#
        ));
        let short = short.unwrap_err();
        assert!(
            short[0]
                .text
                .ends_with("the nearest, `ash`, lacks 44.5 mm of length: give lumber that much larger"),
            "{}",
            short[0]
        );
        assert_eq!(planned(&format!("{{{FRAME}}}")), Ok(None));
    }
}
