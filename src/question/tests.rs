//! The questions of the workshop's drawings, as `fixtures/questions/expected.tsv` has them.
