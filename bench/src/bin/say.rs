//! Prints the line of a figure that a script has measured: `say WHAT UNIT N VALUE`.

use bench::{Failure, single};

fn main() -> Result<(), Failure> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let [what, unit, n, value] = words.as_slice() else {
        return Err("say WHAT UNIT N VALUE".into());
    };
    single(what, unit, n.parse()?, value.parse()?);
    Ok(())
}
