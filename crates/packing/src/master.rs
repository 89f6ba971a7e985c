//! Prices: what one more piece is worth, given the layouts known so far.
//!
//! The restricted master asks for the fewest sheets' money over the layouts known; its dual asks for prices. A *dual
//! price* is what one more strip of that size would add to the bill: at the end of column generation no layout holds
//! pieces worth more than its sheet costs, and what is demanded is worth exactly what the best fractional plan costs.
//!
//! The dual is solved directly: one variable a size, one row a layout ("its pieces are worth no more than its
//! sheet"), so that a newly priced layout is one more constraint on a solved program, which `minilp` takes warm. With
//! [`MOST_DUAL`] sizes and more that takes longer than pricing does; there the program itself is solved
//! ([`crate::simplex`]), in which a newly priced layout is one more column, and its prices are read off.

use minilp::{ComparisonOp, LinearExpr, OptimizationDirection, Problem, Solution, Variable};

use crate::budget::Search;
use crate::normalise::Job;
use crate::pricing::Pattern;
use crate::simplex::{Program, Row};

/// A layout as the programs see it.
#[derive(Clone, Debug)]
pub(crate) struct Column {
    pub(crate) pattern: Pattern,
    /// (size, how many), ascending.
    pub(crate) counts: Vec<(usize, i64)>,
}

impl Column {
    pub(crate) fn new(pattern: Pattern) -> Column {
        let counts = pattern.counts();
        Column { pattern, counts }
    }

    pub(crate) fn stock(&self) -> usize {
        self.pattern.stock
    }

    pub(crate) fn worth(&self, prices: &[f64]) -> f64 {
        self.counts.iter().map(|&(size, n)| prices[size] * n as f64).sum()
    }
}

/// Prices in float: sought with these, stated only after [`crate::bound`] has made whole numbers of them.
#[derive(Clone, Debug, Default)]
pub(crate) struct Prices {
    pub(crate) sizes: Vec<f64>,
    pub(crate) covers: Vec<f64>,
    /// What one more sheet above its limit would be worth.
    pub(crate) upper: Vec<f64>,
}

/// Money is scaled so that the dearest sheet costs this: prices of pieces are then around 0.1 to 1000, far from the
/// 1e-8 below which `minilp` takes a number for zero, and far from where it would lose digits.
pub(crate) const DEAREST: f64 = 1000.0;

/// No piece is worth more than so many of the dearest sheets: keeps the dual bounded where limits are too small.
/// A price at this cap means that the limits cannot be met.
pub(crate) const CAP: f64 = 100.0 * DEAREST;

/// Up to how many sizes prices are found in the dual. With twenty to thirty the primal takes less than half of the time for all
/// of column generation; at a hundred sizes, one piece of each, the dual took fifteen seconds where the pricing between took a
/// tenth of one.
const MOST_DUAL: usize = 16;

/// The restricted master.
pub(crate) struct Master {
    means: Means,
    /// Price of each sheet, scaled.
    pub(crate) cost: Vec<f64>,
}

/// By which program it is solved.
enum Means {
    Dual(Box<Dual>),
    Primal(Box<Primal>),
}

/// One variable a size, cover and limited sheet; one row a layout and make.
struct Dual {
    solution: Option<Solution>,
    sizes: Vec<Variable>,
    covers: Vec<Variable>,
    upper: Vec<Option<Variable>>,
}

/// One row a size, cover and sheet; one column a layout and make.
struct Primal {
    program: Program,
    sizes: usize,
    covers: usize,
}

impl Master {
    /// With the makes and with one plain layout of each size on each sheet (given by the caller, so that every price
    /// is bounded).
    pub(crate) fn new(job: &Job, first: &[Column]) -> Master {
        let cost = scaled_costs(job);
        let means = if job.sizes.len() < MOST_DUAL {
            Means::Dual(Box::new(Dual::new(job, first, &cost)))
        } else {
            Means::Primal(Box::new(Primal::new(job, first, &cost)))
        };
        Master { means, cost }
    }

    /// Learns a layout. False when the program failed numerically: the caller goes on with what it has.
    pub(crate) fn learn(&mut self, column: &Column) -> bool {
        let cost = self.cost[column.stock()];
        match &mut self.means {
            Means::Dual(dual) => {
                let row = dual.row(column);
                let known = dual.solution.take();
                dual.solution =
                    known.and_then(|known| known.add_constraint(row, ComparisonOp::Le, cost).ok());
                dual.solution.is_some()
            }
            Means::Primal(primal) => {
                primal.take(column, cost);
                true
            }
        }
    }

    /// The prices now.
    pub(crate) fn prices(&mut self, search: &mut Search) -> Option<Prices> {
        match &mut self.means {
            Means::Dual(dual) => dual.prices(),
            Means::Primal(primal) => primal.prices(search),
        }
    }
}

impl Dual {
    fn new(job: &Job, first: &[Column], cost: &[f64]) -> Dual {
        let mut problem = Problem::new(OptimizationDirection::Maximize);
        let sizes: Vec<Variable> =
            job.sizes.iter().map(|s| problem.add_var(s.count as f64, (0.0, CAP))).collect();
        let covers: Vec<Variable> =
            job.covers.iter().map(|&c| problem.add_var(c as f64, (0.0, f64::INFINITY))).collect();
        let upper: Vec<Option<Variable>> = job
            .sheets
            .iter()
            .map(|s| s.limit.map(|limit| problem.add_var(-(limit as f64), (0.0, f64::INFINITY))))
            .collect();
        for make in &job.makes {
            let mut row = LinearExpr::empty();
            make.yields.iter().for_each(|&(cover, n)| row.add(covers[cover], n as f64));
            make.uses.iter().for_each(|&(size, n)| row.add(sizes[size], -n as f64));
            problem.add_constraint(row, ComparisonOp::Le, 0.0);
        }
        let mut dual = Dual { solution: None, sizes, covers, upper };
        for column in first {
            problem.add_constraint(dual.row(column), ComparisonOp::Le, cost[column.stock()]);
        }
        dual.solution = problem.solve().ok();
        dual
    }

    fn row(&self, column: &Column) -> LinearExpr {
        let mut row = LinearExpr::empty();
        column.counts.iter().for_each(|&(size, n)| row.add(self.sizes[size], n as f64));
        if let Some(upper) = self.upper[column.stock()] {
            row.add(upper, -1.0);
        }
        row
    }

    fn prices(&self) -> Option<Prices> {
        let solution = self.solution.as_ref()?;
        let value = |v: &Variable| solution[*v].max(0.0);
        Some(Prices {
            sizes: self.sizes.iter().map(value).collect(),
            covers: self.covers.iter().map(value).collect(),
            upper: self.upper.iter().map(|v| v.as_ref().map_or(0.0, value)).collect(),
        })
    }
}

impl Primal {
    fn new(job: &Job, first: &[Column], cost: &[f64]) -> Primal {
        let enough: i64 = job.sizes.iter().map(|s| s.need).sum::<i64>() + 1;
        let limit = |limit: Option<i64>| limit.unwrap_or(enough).min(enough) as f64;
        let sizes = job.sizes.iter().map(|s| (Row::Wanted, s.count as f64, CAP));
        let covers = job.covers.iter().map(|&c| (Row::Wanted, c as f64, 1e3 * CAP));
        let limits = job.sheets.iter().map(|s| (Row::Limit, limit(s.limit), 1e4 * CAP));
        let rows: Vec<(Row, f64, f64)> = sizes.chain(covers).chain(limits).collect();
        let (sizes, covers) = (job.sizes.len(), job.covers.len());
        let mut primal = Primal { program: Program::new(&rows), sizes, covers };
        for make in &job.makes {
            let yields = make.yields.iter().map(|&(cover, n)| (sizes + cover, n as f64));
            let uses = make.uses.iter().map(|&(size, n)| (size, -(n as f64)));
            primal.program.column(0.0, yields.chain(uses).collect());
        }
        first.iter().for_each(|column| primal.take(column, cost[column.stock()]));
        primal
    }

    fn take(&mut self, column: &Column, cost: f64) {
        let sheet = (self.sizes + self.covers + column.stock(), 1.0);
        let entries = column.counts.iter().map(|&(size, n)| (size, n as f64)).chain([sheet]);
        self.program.column(cost, entries.collect());
    }

    fn prices(&mut self, search: &mut Search) -> Option<Prices> {
        let before = self.program.work;
        let solved = self.program.solve();
        search.work += (self.program.work - before) / 2;
        if !solved {
            return None;
        }
        let (sizes, rest) = self.program.prices().split_at(self.sizes);
        let (covers, upper) = rest.split_at(self.covers);
        Some(Prices {
            sizes: sizes.iter().map(|p| p.max(0.0)).collect(),
            covers: covers.iter().map(|p| p.max(0.0)).collect(),
            upper: upper.iter().map(|p| (-p).max(0.0)).collect(),
        })
    }
}

/// Sheet prices with the dearest at [`DEAREST`].
pub(crate) fn scaled_costs(job: &Job) -> Vec<f64> {
    let dearest = job.sheets.iter().map(|s| s.price).max().unwrap_or(0).max(1) as f64;
    job.sheets.iter().map(|s| s.price as f64 * DEAREST / dearest).collect()
}
