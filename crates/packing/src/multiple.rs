//! How many times all that is wanted a purchase holds, in fractions.
//!
//! One program over the layouts known answers for every purchase: its rows are the sizes and the sheets, and its answer how
//! often everything can be cut. Its prices say what a sheet of each kind adds to that, and what a piece takes of it: where
//! it is less than once, no plan of these layouts fits the purchase, and the prices say why.

use crate::columns::Pool;
use crate::master::{DEAREST, Prices};
use crate::normalise::Job;
use crate::simplex::{Program, Row};

/// What missing a piece costs in the program, and using a sheet that is not there, where as much again of all that is
/// wanted is worth [`DEAREST`]: more than either could ever bring.
const MISS: [f64; 2] = [1e2 * DEAREST, 1e5 * DEAREST];

/// The program over the layouts known.
#[derive(Clone)]
pub(crate) struct Multiple {
    program: Program,
    /// Sizes, covers.
    rows: [usize; 2],
    /// No purchase needs more sheets of a kind: keeps the numbers near each other.
    enough: i64,
    /// How many layouts of the pool it knows.
    taken: usize,
}

/// What a purchase holds.
pub(crate) struct Holds {
    /// How many times all that is wanted.
    pub(crate) times: f64,
    /// What each piece and cover takes of that, and each sheet adds.
    pub(crate) prices: Prices,
}

impl Multiple {
    /// Without any layouts.
    pub(crate) fn new(job: &Job) -> Self {
        let rows = [job.sizes.len(), job.covers.len()];
        let mut kinds = vec![(Row::Wanted, 0.0, MISS[0]); rows[0] + rows[1]];
        kinds.extend(job.sheets.iter().map(|_| (Row::Limit, 0.0, MISS[1])));
        let mut program = Program::new(&kinds);
        let all = job.sizes.iter().map(|s| s.count).chain(job.covers.iter().copied());
        let all = all.enumerate().filter(|&(_, n)| n > 0).map(|(row, n)| (row, -(n as f64)));
        program.column(-DEAREST, all.collect());
        for make in &job.makes {
            let yields = make.yields.iter().map(|&(c, n)| (rows[0] + c, n as f64));
            let uses = make.uses.iter().map(|&(s, n)| (s, -(n as f64)));
            program.column(0.0, yields.chain(uses).collect());
        }
        let enough = job.sizes.iter().map(|s| s.need).sum::<i64>() + 1;
        Multiple { program, rows, enough, taken: 0 }
    }

    /// Learns the layouts that it does not know yet; says whether there were any.
    pub(crate) fn learn(&mut self, pool: &Pool) -> bool {
        let sheets = self.rows[0] + self.rows[1];
        let news = &pool.columns[self.taken..];
        for column in news {
            let entries = column.counts.iter().map(|&(s, n)| (s, n as f64));
            self.program.column(0.0, entries.chain([(sheets + column.stock(), 1.0)]).collect());
        }
        self.taken = pool.columns.len();
        !news.is_empty()
    }

    /// What a purchase holds. None where not even a part of each piece can be cut, or the program failed.
    pub(crate) fn of(&mut self, have: &[i64], work: &mut u64) -> Option<Holds> {
        let wanted = self.rows[0] + self.rows[1];
        let mut right = vec![0.0; wanted];
        right.extend(have.iter().map(|&n| n.min(self.enough) as f64));
        self.program.ask(&right);
        let before = self.program.work;
        let solved = self.program.solve();
        *work += (self.program.work - before) / 2;
        if !solved || self.program.missed() > 1e-6 {
            return None;
        }
        let prices = self.program.prices();
        let part = |price: &f64| (price / DEAREST).max(0.0);
        let prices = Prices {
            sizes: prices[..self.rows[0]].iter().map(part).collect(),
            covers: prices[self.rows[0]..wanted].iter().map(part).collect(),
            upper: prices[wanted..].iter().map(|price| part(&-price)).collect(),
        };
        Some(Holds { times: -self.program.objective() / DEAREST, prices })
    }
}
