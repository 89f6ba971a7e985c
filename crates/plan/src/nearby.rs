//! Small changes of a top that would buy for less: which there are, how each is tried, and what came of them.

use stripwright_packing as packing;
use stripwright_packing::{Budget, Progress, Refusal};
use stripwright_pattern::{BandSize, Pattern};
use stripwright_units::{Angle, Length, Money};

use crate::asked::ask;
use crate::job::Job;
use crate::keys;
use crate::plan::Plan;
use crate::roomy::too_small;
use crate::wording::count;
use crate::words::{Words, decimals, join};

/// One small change of one top.
#[derive(Clone, Debug)]
pub struct Change {
    /// What is changed, to what: `the band of table top 68 mm instead of 70 mm`.
    pub text: String,
    /// The job with it, its bases and lumber left out: they cost the same whatever becomes of a top.
    pub job: Job,
}

/// Changes of one key of one top, the smallest first.
#[derive(Clone, Debug)]
pub struct Series {
    /// `the band of table top`.
    pub what: String,
    /// To try in this order until one saves a sheet.
    pub changes: Vec<Change>,
}

/// By how much a band is made narrower or wider, in thousandths of its width.
const BANDS: [i64; 5] = [10, 20, 30, 50, 100];
/// By how much the angle is changed, in degrees.
const ANGLES: [f64; 5] = [0.5, 1.0, 2.0, 3.0, 5.0];
/// What is left of the margin, in quarters.
const MARGINS: [i64; 4] = [3, 2, 1, 0];

/// Every change worth trying: band width, angle and margin of each top, nearest first.
#[must_use]
pub fn changes(job: &Job) -> Vec<Series> {
    let mut all = Vec::new();
    for top in 0..job.tops.len() {
        all.extend([bands(job, top), angles(job, top), margins(job, top)].into_iter().flatten());
    }
    all
}

fn series(what: String, changes: Vec<Change>) -> Option<Series> {
    (!changes.is_empty()).then_some(Series { what, changes })
}

fn changed(job: &Job, top: usize, change: impl FnOnce(&mut crate::job::Top)) -> Job {
    let mut job = Job { bases: Vec::new(), sticks: Vec::new(), ..job.clone() };
    change(&mut job.tops[top]);
    job
}

fn bands(job: &Job, top: usize) -> Option<Series> {
    let words = Words { system: job.system };
    let width = match &job.tops[top].pattern {
        Pattern::Chevron { bands: BandSize::Width(width), .. }
        | Pattern::Diamond { bands: Some(BandSize::Width(width)), .. } => *width,
        _ => return None,
    };
    let what = format!("the band of {}", job.tops[top].name);
    let mut found: Vec<Change> = Vec::new();
    for part in BANDS.into_iter().flat_map(|p| [-p, p]) {
        let step = Length::from_nm(width.nm() / 1000 * part.abs()).ceil_to(job.mark);
        let new = if part < 0 { width - step } else { width + step };
        if !new.is_positive()
            || found.iter().any(|c| c.text.contains(&format!(" {} instead", words.length(new))))
        {
            continue;
        }
        found.push(Change {
            text: format!("{what} {} instead of {}", words.length(new), words.length(width)),
            job: changed(job, top, |t| match &mut t.pattern {
                Pattern::Chevron { bands, .. } => *bands = BandSize::Width(new),
                Pattern::Diamond { bands, .. } => *bands = Some(BandSize::Width(new)),
                _ => {}
            }),
        });
    }
    series(what, found)
}

fn angles(job: &Job, top: usize) -> Option<Series> {
    let degrees = match &job.tops[top].pattern {
        Pattern::Chevron { angle, .. } | Pattern::Diamond { angle, .. } => angle.to_degrees(),
        _ => return None,
    };
    let what = format!("the angle of {}", job.tops[top].name);
    let found = ANGLES
        .into_iter()
        .flat_map(|step| [degrees - step, degrees + step])
        .filter(|new| (keys::ANGLES.0..=keys::ANGLES.1).contains(new))
        .map(|new| Change {
            text: format!("{what} {}° instead of {}°", decimals(new, 2), decimals(degrees, 2)),
            job: changed(job, top, |t| match &mut t.pattern {
                Pattern::Chevron { angle, .. } | Pattern::Diamond { angle, .. } => {
                    *angle = Angle::degrees(new)
                }
                _ => {}
            }),
        })
        .collect();
    series(what, found)
}

fn margins(job: &Job, top: usize) -> Option<Series> {
    let words = Words { system: job.system };
    let margin = job.tops[top].margin;
    let what = format!("the margin of {}", job.tops[top].name);
    let mut found: Vec<Change> = Vec::new();
    let mut last = margin;
    for quarters in MARGINS {
        let new = Length::from_nm(margin.nm() / 4 * quarters).floor_to(job.mark);
        if new >= last {
            continue;
        }
        last = new;
        found.push(Change {
            text: format!("{what} {} instead of {}", words.length(new), words.length(margin)),
            job: changed(job, top, |t| t.margin = new),
        });
    }
    series(what, found)
}

/// Work that the trials of all series may do together: some two seconds of two cores.
const ALL_TRIALS: u64 = 1_500_000_000;
/// Work that one trial may do.
const ONE_TRIAL: u64 = 100_000_000;

/// The work that each of so many series may do, so that all of them come to an end soon.
#[must_use]
pub fn budget(series: usize) -> Budget {
    Budget { work: ALL_TRIALS / series.max(1) as u64 }
}

/// What trying a change came to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trial {
    /// It buys for less.
    Saves {
        /// What its sheets cost; perhaps there are plans that cost less still.
        money: Money,
        /// How many sheets these are.
        sheets: u32,
    },
    /// It cannot be made, or no plan of it costs less.
    SavesNothing,
    /// Its work ran out before either was known.
    Open,
}

/// Whether the sheets of a changed job can be bought for less than those of the plan, looked into no further than that,
/// and the work that it took.
///
/// `progress` is called as in [`plan()`](crate::plan()). Whatever is answered but [`Trial::Open`] is shown in whole
/// numbers: by the audit, or because sheets for less have not the area.
#[must_use]
pub fn attempt(
    change: &Change,
    plan: &Plan,
    budget: Budget,
    progress: &mut (dyn FnMut(&Progress) -> bool + Send),
) -> (Trial, u64) {
    let below = of_sheets(plan);
    let Ok(asked) = ask(&change.job, &|_, makes| makes) else { return (Trial::SavesNothing, 0) };
    if too_small(&asked.problem, below) {
        return (Trial::SavesNothing, 0);
    }
    // Once the bound is not below what the plan costs, or a plan is, more search changes nothing.
    let mut undecided =
        |p: &Progress| p.bound < below && p.money.is_none_or(|money| money >= below) && progress(p);
    let budget = Budget { work: budget.work.min(ONE_TRIAL) };
    let answer = match packing::solve(&asked.problem, &budget, &mut undecided) {
        Ok(answer) => answer,
        Err(refusals) => {
            let unknown = |r: &Refusal| matches!(r, Refusal::LimitsTooSmall { shown: false, .. });
            let trial = if refusals.iter().any(unknown) { Trial::Open } else { Trial::SavesNothing };
            return (trial, budget.work);
        }
    };
    let trial = match packing::audit::answer(&asked.problem, &answer) {
        Ok(verdict) if verdict.money < below => Trial::Saves {
            money: verdict.money,
            sheets: verdict.sheets.iter().fold(0, |all, n| all + u32::try_from(*n).unwrap_or(u32::MAX)),
        },
        Ok(verdict) if verdict.bound >= below => Trial::SavesNothing,
        _ => Trial::Open,
    };
    (trial, answer.work)
}

/// What the plan's sheets cost, lumber apart.
fn of_sheets(plan: &Plan) -> Money {
    let minor = |b: &crate::plan::BuySheet| b.price.minor().saturating_mul(i64::from(b.count));
    Money::from_minor(plan.buy.sheets.iter().map(minor).fold(0, i64::saturating_add))
}

/// What became of a series.
#[derive(Clone, Copy, Debug)]
pub struct Outcome<'s> {
    /// What was changed.
    pub series: &'s Series,
    /// The first change that buys for less, what for, and for how many sheets.
    pub saves: Option<(&'s Change, Money, u32)>,
    /// How many changes before it (or in all) were left open.
    pub open: usize,
}

impl Series {
    /// Tries the changes in their order until one saves something or the work allowed to all of them is done.
    pub fn pursue(
        &self,
        budget: Budget,
        mut attempt: impl FnMut(&Change, Budget) -> (Trial, u64),
    ) -> Outcome<'_> {
        let (mut open, mut left) = (0, budget.work);
        for (n, change) in self.changes.iter().enumerate() {
            if left == 0 {
                open += self.changes.len() - n;
                break;
            }
            let (trial, work) = attempt(change, Budget { work: left });
            left = left.saturating_sub(work);
            match trial {
                Trial::Saves { money, sheets } => {
                    return Outcome { series: self, saves: Some((change, money, sheets)), open };
                }
                Trial::SavesNothing => {}
                Trial::Open => open += 1,
            }
        }
        Outcome { series: self, saves: None, open }
    }
}

/// The outcomes in sentences: the changes that save, then what saves nothing, then what is not known.
#[must_use]
pub fn nearest(plan: &Plan, outcomes: &[Outcome<'_>]) -> Vec<String> {
    let before: u32 = plan.buy.sheets.iter().map(|b| b.count).sum();
    let mut said = Vec::new();
    let mut none: Vec<String> = Vec::new();
    let mut unsure: Vec<String> = Vec::new();
    for Outcome { series, saves, open } in outcomes {
        match saves {
            Some((change, bought, sheets)) => said.push(format!(
                "Making {} saves {}: {} instead of {before}.{}",
                change.text,
                plan.show_money(of_sheets(plan) - *bought),
                count(*sheets, "sheet", "sheets"),
                if *open == 0 {
                    String::new()
                } else {
                    format!(
                        " Of the smaller changes {} not settled in the work allowed.",
                        if *open == 1 { "one was".to_string() } else { format!("{open} were") }
                    )
                }
            )),
            None if *open == 0 => none.push(series.what.clone()),
            None => unsure.push(format!("{} ({open} of {})", series.what, series.changes.len())),
        }
    }
    if !none.is_empty() {
        said.push(format!("No small change of {} saves anything.", join(&none)));
    }
    if !unsure.is_empty() {
        said.push(format!(
            "Whether small changes of {} save anything was not settled in the work allowed; none was found that does.",
            join(&unsure)
        ));
    }
    said
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::BuySheet;
    use crate::steps::tests::empty_plan;

    #[test]
    fn changes_are_small_first_and_stay_on_the_mark() {
        let job = Job::read(include_str!("../../../fixtures/two-counters/job.json")).unwrap();
        let all = changes(&job);
        assert_eq!(all.len(), 3 * job.tops.len());
        assert_eq!(all[0].changes[0].text, "the band of stool top 59 mm instead of 60 mm");
        for series in &all {
            for change in &series.changes {
                for top in &change.job.tops {
                    if let Pattern::Chevron { bands: BandSize::Width(width), .. } = &top.pattern {
                        assert_eq!(width.nm() % job.mark.nm(), 0);
                    }
                    assert_eq!(top.margin.nm() % job.mark.nm(), 0);
                }
            }
        }
    }

    #[test]
    fn outcomes_say_what_saves_what_does_not_and_what_is_not_known() {
        let job = Job::read(include_str!("../../../fixtures/two-counters/job.json")).unwrap();
        let all = changes(&job);
        let mut plan = empty_plan();
        plan.currency = "EUR".into();
        plan.buy.sheets =
            vec![BuySheet { name: "birch".into(), count: 2, price: Money::from_minor(9200).into() }];
        let saves = Trial::Saves { money: Money::from_minor(9200), sheets: 1 };
        let mut tried = [Trial::Open, Trial::SavesNothing, saves].into_iter();
        let budget = Budget { work: 10 };
        let first = all[0].pursue(budget, |_, _| (tried.next().unwrap(), 1));
        let outcomes = [
            first,
            all[1].pursue(budget, |_, _| (Trial::SavesNothing, 0)),
            // The second uses up the work, so that two are not tried.
            all[2].pursue(budget, |_, left| (Trial::SavesNothing, left.work.div_ceil(2) + 3)),
        ];
        assert_eq!(
            nearest(&plan, &outcomes),
            [
                "Making the band of stool top 58.5 mm instead of 60 mm saves 92.00 EUR: 1 sheet instead of 2. Of the \
                 smaller changes one was not settled in the work allowed.",
                "No small change of the angle of stool top saves anything.",
                "Whether small changes of the margin of stool top (2 of 4) save anything was not settled in the work \
                 allowed; none was found that does."
            ]
        );
    }

    /// The side table fills one quarter sheet (fixtures/slab-choice): nothing is bought for less, and at half the price
    /// of the plan a change that does it in one sheet is no saving either; at twice its price it is.
    #[test]
    fn a_trial_is_settled_against_what_the_plan_costs() {
        let job = Job::read(include_str!("../../../fixtures/slab-choice/job.json")).unwrap();
        let change = Change { text: "nothing".into(), job };
        let mut plan = empty_plan();
        let mut attempt = |sheets| {
            plan.buy.sheets =
                vec![BuySheet { name: "q".into(), count: sheets, price: Money::from_minor(2800).into() }];
            super::attempt(&change, &plan, Budget { work: ONE_TRIAL }, &mut |_| true).0
        };
        assert_eq!(attempt(1), Trial::SavesNothing);
        assert_eq!(attempt(3), Trial::Saves { money: Money::from_minor(2800), sheets: 1 });
    }
}
