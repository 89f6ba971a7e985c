//! Checks an answer without the solver.
