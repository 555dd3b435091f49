//! What the print demands, from the command line.

mod calibrated;
mod chosen;
mod compared;
mod estimated;
mod helped;
mod kept;
mod own_book;
mod possible;
