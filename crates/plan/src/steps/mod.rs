//! What to do, in shop order.
//!
//! The order is the material's: sheets, strips, slabs, bands, blanks, outlines, finish, then bases, then both
//! together. All tops go through one stage before the next begins, so that a machine is set up once for all of them.
//! Every figure comes from the job, the layouts, the route that the pattern takes through the shop, or the base.

mod bands;
mod base;
mod blank;
mod finish;
mod halves;
mod saw;
mod sheets;
mod slabs;

use stripwright_pattern::Operation;

use crate::cautions::Care;
use crate::plan::{Count, Setting, Step};
use crate::work::Work;

pub(crate) use bands::{longest_cut as bands_longest_cut, metres as bands_metres};
pub(crate) use base::{dowels, glue as base_glue, surface as base_surface};
pub(crate) use finish::{base_millilitres, millilitres, surface};
pub(crate) use saw::fence_settings;

/// All steps, numbered.
pub(crate) fn steps(work: &Work<'_>) -> Vec<Step> {
    let tops = || 0..work.tops.len();
    // Parts of a slab that is the blank are joined only when they have been planed for the last time.
    let last = |operation: &&Operation| !matches!(operation, Operation::PlaneBlanks { .. });
    let is_blank = |top: usize| {
        let operations = &work.tops[top].unrolled.route.operations;
        operations.iter().skip_while(last).any(|o| matches!(o, Operation::JoinSubSlabs { .. }))
    };
    let mut steps = sheets::fetch_and_saw(work);
    for top in tops() {
        steps.extend(slabs::glue_up(work, top));
    }
    for top in tops() {
        steps.extend(slabs::plane(work, top));
        if !is_blank(top) {
            steps.extend(slabs::join(work, top));
        }
    }
    for top in tops() {
        steps.extend(bands::cut(work, top));
        steps.extend(bands::lay_out(work, top));
    }
    for top in tops() {
        steps.extend(blank::glue_up(work, top));
    }
    for top in tops() {
        steps.extend(blank::plane(work, top));
        steps.extend(blank::join(work, top));
        if is_blank(top) {
            steps.extend(slabs::join(work, top));
        }
    }
    for top in tops() {
        steps.extend(blank::outline(work, top));
    }
    for top in tops() {
        steps.extend(finish::ease(work, top));
    }
    for top in tops() {
        steps.extend(finish::fill_and_sand(work, top));
    }
    steps.extend(sheets::parts(work));
    steps.extend(base::lumber(work));
    for n in 0..work.bases.len() {
        steps.extend(base::parts(work, n));
        steps.extend(base::assemble(work, n));
    }
    steps.extend(finish::coats(work));
    for n in 0..work.bases.len() {
        steps.extend(base::screw_on(work, n));
    }
    if let Some(first) = steps.first_mut() {
        first.cautions.insert(0, Care::Codes.id().to_string());
    }
    for (number, step) in (1..).zip(&mut steps) {
        step.number = number;
        step.minutes = (step.minutes * 10.0).round() / 10.0;
        step.wait = step.wait.round();
    }
    steps
}

impl Step {
    fn new(id: impl Into<String>, stage: &str, of: &str, title: impl Into<String>) -> Step {
        Step {
            id: id.into(),
            stage: stage.to_string(),
            of: of.to_string(),
            title: title.into(),
            ..Step::default()
        }
    }

    fn say(&mut self, sentence: impl Into<String>) {
        self.text.push(sentence.into());
    }

    fn set(&mut self, setting: Setting) {
        self.settings.push(setting);
    }

    /// A count of nothing is left out.
    fn count(&mut self, what: &str, count: u32) {
        if count > 0 {
            self.counts.push(Count { what: what.to_string(), count });
        }
    }

    fn draw(&mut self, id: impl Into<String>) {
        self.drawings.push(id.into());
    }

    fn mind(&mut self, cares: &[Care]) {
        for care in cares {
            let id = care.id().to_string();
            if !self.cautions.contains(&id) {
                self.cautions.push(id);
            }
        }
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use crate::plan::{Bound, Buy, Certificate, Cutting, First, Plan, Prices, Units};

    /// The rules of a saw without limits.
    pub(crate) fn cutting() -> Cutting {
        Cutting {
            first: First::Either,
            stages: 3,
            rip_kerf: Default::default(),
            crosscut_kerf: Default::default(),
            longest_rip: None,
            fence_reach: None,
            smallest_rip: None,
            useful_offcut: None,
        }
    }

    /// A plan of nothing.
    pub(crate) fn empty_plan() -> Plan {
        Plan {
            format: 1,
            title: String::new(),
            units: Units::Metric,
            mark: Default::default(),
            currency: String::new(),
            buy: Buy { sheets: Vec::new(), lumber: Vec::new(), total: Default::default(), area: 0.0 },
            fence_settings: 0,
            largest_offcut: None,
            bound: Bound { money: Default::default(), proven: true, gap: 0.0, slab_choice: None },
            layouts: Vec::new(),
            sticks: Vec::new(),
            boards: None,
            tops: Vec::new(),
            bases: Vec::new(),
            steps: Vec::new(),
            cautions: Vec::new(),
            limits: Vec::new(),
            prices: Prices::default(),
            ledger: Vec::new(),
            assumed: Vec::new(),
            notes: Vec::new(),
            sheets: Vec::new(),
            cutting: cutting(),
            demands: Vec::new(),
            covers: Vec::new(),
            makes: Vec::new(),
            certificate: Certificate::default(),
        }
    }
}
