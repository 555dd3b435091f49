//! Masses against closed forms, tabs against the strength of a beam worked by hand, coreless rings against counting.
