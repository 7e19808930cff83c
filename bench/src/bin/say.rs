//! Prints the line of a figure that a script has measured: `say WHAT UNIT N VALUE`, or `say WHAT UNIT N VALUE...`
//! with each of the N values: then their median and quartiles.

use bench::{Failure, Spread, quartiles, single};

fn main() -> Result<(), Failure> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let [what, unit, n, values @ ..] = words.as_slice() else {
        return Err("say WHAT UNIT N VALUE...".into());
    };
    let n: usize = n.parse()?;
    let values: Result<Vec<f64>, _> = values.iter().map(|value| value.parse()).collect();
    match values?.as_slice() {
        [value] => single(what, unit, n, *value),
        values if values.len() == n => quartiles(what, unit, &Spread::of(values.to_vec())),
        values => {
            let found = values.len();
            return Err(format!("{what}: {found} values, allowed: 1 or {n}").into());
        }
    }
    Ok(())
}
