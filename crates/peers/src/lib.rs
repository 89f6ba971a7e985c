//! What a maker could reach for instead: a general integer programme of the same job.
//!
//! Bench only: nothing that is delivered depends on this crate, and the general solver itself comes in only with the
//! feature `highs`. The model is the compact one for cutting in two stages (A. Lodi, S. Martello, D. Vigo, Models and
//! bounds for two-dimensional level packing problems, Journal of Combinatorial Optimization 8 (2004) 363-379), with
//! kerf, several kinds of sheet, prices and limits. It knows nothing of the product's own search, so that an optimum
//! of the one is a check of the other.
//!
//! Every single piece may open a strip, and every strip may open a sheet; pieces are in order of width, so that a
//! strip is as wide as the piece that opens it, and strips likewise.

use good_lp::{Expression, ProblemVariables, Variable, constraint::Constraint, variable};
use stripwright_packing::{Direction, First, Problem};

/// A job as an integer programme: minimise `money` over `variables` such that all `constraints` hold.
pub struct Model {
    /// The yes-or-no choices.
    pub variables: ProblemVariables,
    /// What all sheets cost, in minor units.
    pub money: Expression,
    /// What must hold.
    pub constraints: Vec<Constraint>,
    /// How many choices there are.
    pub size: usize,
}

/// Why a job cannot be modelled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unsuited {
    /// It allows three stages, or first cuts of either direction.
    Stages,
    /// Its pieces may turn.
    Turning,
    /// It has makes, or limits of the shop.
    Extras,
}

/// One single piece: extent along the strip and across it, in millimetres, and the kind it is of.
#[derive(Clone, Copy)]
struct Single {
    along: f64,
    across: f64,
    kind: usize,
}

/// The model of a job of plain pieces in two stages without turning.
///
/// # Errors
/// See [`Unsuited`].
pub fn two_stage(problem: &Problem) -> Result<Model, Unsuited> {
    let cutting = &problem.cutting;
    let first = match (cutting.first, cutting.stages) {
        (First::Rip, 2) => Direction::Rip,
        (First::Crosscut, 2) => Direction::Crosscut,
        _ => return Err(Unsuited::Stages),
    };
    if problem.pieces.iter().any(|piece| piece.may_turn && piece.length != piece.width) {
        return Err(Unsuited::Turning);
    }
    let shop_limits = [cutting.longest_rip, cutting.fence_reach, cutting.smallest_rip];
    if !problem.makes.is_empty() || shop_limits.iter().any(Option::is_some) {
        return Err(Unsuited::Extras);
    }
    let oriented = |x: f64, y: f64| if first == Direction::Rip { (x, y) } else { (y, x) };
    let (kerf_along, kerf_across) = oriented(cutting.crosscut_kerf.to_mm(), cutting.rip_kerf.to_mm());
    let mut singles = Vec::new();
    for (kind, piece) in problem.pieces.iter().enumerate() {
        let (along, across) = oriented(piece.length.to_mm(), piece.width.to_mm());
        singles.extend((0..piece.count).map(|_| Single { along, across, kind }));
    }
    singles.sort_by(|a, b| b.across.total_cmp(&a.across).then(b.along.total_cmp(&a.along)));
    let mut model = Builder { variables: ProblemVariables::new(), size: 0 };
    let n = singles.len();
    let mut held: Vec<Expression> = vec![Expression::default(); n];
    let mut money = Expression::default();
    let mut constraints = Vec::new();
    for (t, stock) in problem.stocks.iter().enumerate() {
        let (long, wide) = oriented(stock.usable_length().to_mm(), stock.usable_width().to_mm());
        let fits =
            |s: &Single| problem.pieces[s.kind].stocks.contains(&t) && s.along <= long && s.across <= wide;
        let strips: Vec<Option<Variable>> = singles.iter().map(|s| fits(s).then(|| model.choice())).collect();
        let mut bought = Expression::default();
        let mut opened: Vec<Expression> = strips.iter().map(|_| Expression::default()).collect();
        for (i, opener) in singles.iter().enumerate() {
            let Some(strip) = strips[i] else { continue };
            held[i] += strip;
            let mut length = Expression::default();
            for (j, piece) in singles.iter().enumerate().skip(i + 1).filter(|(_, piece)| fits(piece)) {
                if opener.along + kerf_along + piece.along <= long {
                    let joins = model.choice();
                    held[j] += joins;
                    length += (piece.along + kerf_along) * joins;
                }
            }
            constraints.push(length.leq((long - opener.along) * strip));
            let sheet = model.choice();
            bought += sheet;
            opened[i] += sheet;
            let mut width = Expression::default();
            for (k, other) in singles.iter().enumerate().skip(i + 1).filter(|&(k, _)| strips[k].is_some()) {
                if opener.across + kerf_across + other.across <= wide {
                    let stacked = model.choice();
                    opened[k] += stacked;
                    width += (other.across + kerf_across) * stacked;
                }
            }
            constraints.push(width.leq((wide - opener.across) * sheet));
        }
        for (strip, opened) in strips.iter().zip(opened) {
            if let Some(strip) = *strip {
                constraints.push(opened.eq(strip));
            }
        }
        money += stock.price.minor() as f64 * bought.clone();
        if let Some(limit) = stock.limit {
            constraints.push(bought.leq(f64::from(limit)));
        }
    }
    constraints.extend(held.into_iter().map(|times| times.eq(1.0)));
    Ok(Model { variables: model.variables, money, constraints, size: model.size })
}

struct Builder {
    variables: ProblemVariables,
    size: usize,
}

impl Builder {
    fn choice(&mut self) -> Variable {
        self.size += 1;
        self.variables.add(variable().binary())
    }
}

#[cfg(test)]
mod tests {
    use good_lp::{Solution, SolverModel};
    use stripwright_packing::{Cutting, First, Piece, Problem, Stock, Trim};
    use stripwright_units::{Length, Money};

    use super::{Unsuited, two_stage};

    /// Three squares of 50 with a 3 mm kerf: two fit a sheet of 103 x 50 for 10.00, one an offcut on hand.
    fn squares() -> Problem {
        let mm = Length::from_mm;
        let stock = |length, price, limit| Stock {
            name: format!("{length}"),
            length: mm(length),
            width: mm(50),
            trim: Trim::default(),
            price: Money::from_minor(price),
            limit,
        };
        let square = Piece {
            name: "square".into(),
            length: mm(50),
            width: mm(50),
            count: 3,
            may_turn: false,
            stocks: vec![0, 1],
        };
        Problem {
            pieces: vec![square],
            stocks: vec![stock(103, 1000, None), stock(60, 0, Some(1))],
            cutting: Cutting {
                first: First::Rip,
                stages: 2,
                rip_kerf: mm(3),
                crosscut_kerf: mm(3),
                ..Cutting::default()
            },
            ..Problem::default()
        }
    }

    #[test]
    fn the_model_knows_kerf_prices_and_limits() {
        for (limit, money) in [(Some(1), 1000.0), (Some(0), 2000.0), (Some(3), 0.0)] {
            let mut problem = squares();
            problem.stocks[1].limit = limit;
            let model = two_stage(&problem).expect("suited");
            let mut solver = model.variables.minimise(model.money.clone()).using(good_lp::microlp);
            for constraint in model.constraints {
                solver.add_constraint(constraint);
            }
            let solution = solver.solve().expect("there is a plan");
            assert!((solution.eval(&model.money) - money).abs() < 1e-6, "limit {limit:?}");
        }
    }

    #[test]
    fn what_is_unsuited_is_refused() {
        let mut problem = squares();
        problem.cutting.stages = 3;
        assert_eq!(two_stage(&problem).err(), Some(Unsuited::Stages));
    }
}
