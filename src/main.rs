//! The `kerfwright` command.

fn main() {}
