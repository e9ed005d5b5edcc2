//! Published and computed examples of test sequencing, as tables.

use lugwise::advisor::planning::{Costs, Table};

/// Six states and five tests of yes and no: the standard example of Pattipati and Alexandridis (1990), its matrix from
/// memory.
pub fn six_states(costs: [f64; 5]) -> Table {
    let outcomes = [
        [0, 0, 0, 0, 0],
        [0, 1, 0, 0, 1],
        [0, 0, 1, 1, 0],
        [1, 0, 0, 1, 1],
        [1, 1, 0, 0, 0],
        [1, 1, 1, 1, 0],
    ];
    let priors = vec![0.70, 0.01, 0.02, 0.10, 0.05, 0.12];
    Table::certain(priors, &outcomes.map(|state| state.to_vec()), Costs::constant(costs.to_vec()))
}
