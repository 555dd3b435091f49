//! The only home of small lengths. Each says what it decides and what it does not.
//!
//! Everything is in millimetres unless the name says otherwise. A test (`tests/all/architecture.rs`) fails when
//! another file holds a literal like `1e-9` that should have had a name here.

/// Two points closer than this are one point. Decides identity of coordinates after arithmetic in `f64`;
/// says nothing about what a drawing means by "joined" (that is [`JOIN_MM`]).
pub const SAME_POINT_MM: f64 = 1e-9;

/// Default distance within which two curve ends of a drawing are one vertex. Larger gaps are reported and
/// stay open unless the user asks to close them.
pub const JOIN_MM: f64 = 1e-3;

/// Default distance up to which an unjoined end looks for its likely partner, so that the gap can be shown.
/// Decides what is *reported*, never what is joined.
pub const GAP_SEARCH_MM: f64 = 0.5;

/// Findings of different kinds within this distance on one contour are about one inside corner. Decides what is told together, never what is found.
pub const SAME_CORNER_MM: f64 = 0.5;

/// Default largest deviation of the arcs that stand in for an ellipse or spline.
pub const FIT_MM: f64 = 0.5e-3;

/// A wire-centre path may come closer to its contour than the offset, or stray from it, by this much.
/// The verifier refuses every path that is worse; it is not a width of the wire or of anything real.
pub const PATH_MM: f64 = 1e-4;

/// A run-out ends where its distance from the material is right to within this.
pub const RUN_OUT_END_MM: f64 = 1e-10;

/// An end of an open line this near to an edge, and heading for it, is on it whatever the wire: half the kerf of every wire in use is
/// more. How far others may be from an edge depends on the wire, and is not decided by it.
pub const END_ON_EDGE_MM: f64 = 0.05;

/// What open cuts leave of a body that is smaller than this, mm², is no piece: it is washed away.
pub const CRUMB_PIECE_MM2: f64 = 1e-3;

/// Coordinates of paths are whole numbers of such steps (1e-9 mm) before they are verified: what is proved is what is written.
pub const WRITTEN_STEPS_PER_MM: f64 = 1e9;

/// Bulges of paths are whole numbers of such steps: of a chord of 1 m the rise is good to half of [`SAME_POINT_MM`].
pub const WRITTEN_STEPS_OF_BULGE: f64 = 1e12;

/// An arc that rises less than this above its chord may be replaced by its chord before offsetting, when its
/// radius is beyond [`CENTER_LOST_MM`]. What the verifier reports is enlarged by it.
pub const FLAT_ARC_MM: f64 = 1e-6;

/// A radius beyond which the centre of an arc, computed in `f64`, is no longer good to [`SAME_POINT_MM`].
pub const CENTER_LOST_MM: f64 = 1e6;

/// Crumbs of a contour shorter than this may be left out in a later attempt at offsetting. What the verifier
/// reports is still measured against the contour with its crumbs.
pub const CRUMB_MM: f64 = 1e-6;

/// A later attempt at offsetting may ask the library for an offset that differs by this much, to step off
/// an exact coincidence. The verifier still measures against the offset that was asked.
pub const NUDGE_MM: f64 = 1e-6;

/// Distances at which the offset library takes two places for one, one attempt after the other. None alone
/// is safe: each fails on some shape that another solves.
pub const OFFSET_SAME_PLACE_MM: [f64; 3] = [1e-8, 1e-7, 1e-5];

/// How much nearer than the offset the library lets a piece of path come before it drops the piece, by attempt.
pub const OFFSET_SLACK_MM: [f64; 3] = [1e-7, 1e-6, 1e-4];

/// Where a slot is as wide as twice the offset to within [`PATH_MM`] a wall, the path runs nearer by this (0.0125 µm) and is exact otherwise:
/// the slot is entered when it is at least twice the offset less 0.025 µm wide, wherever it lies and however it is turned.
pub const JUST_FITS_MM: f64 = 1.25e-5;

/// Chords that the second proposer of paths puts in the place of arcs, those of its round joins among them, rise no more than this (0.02 µm).
/// What the verifier reports holds it.
pub const CHORD_RISE_MM: f64 = 2e-5;

/// Arcs keep this near to the chords that the second proposer gets back (0.03 µm): with [`CHORD_RISE_MM`] and [`BUFFER_GRID_MM`] it stays
/// below [`PATH_MM`].
pub const ARC_FIT_MM: f64 = 3e-5;

/// The second proposer is not asked when its grid would be coarser than this (10 nm: contours beyond 10 m). On a part of 100 mm it is 0.1 nm.
pub const BUFFER_GRID_MM: f64 = 1e-5;

/// A bulge smaller than this (the tangent of a quarter of the sweep) is a straight line: over a chord of
/// one metre it rises less than [`SAME_POINT_MM`].
pub const STRAIGHT_BULGE: f64 = 2e-12;

/// Relative slack for comparing two sums of the same `f64` terms taken in another order.
pub const ROUNDING: f64 = 1e-12;

/// Arcs are never asked to keep closer to a curve than this part of its extent: below it `f64` noise would be
/// fitted. At the default [`FIT_MM`] it decides nothing for curves up to 50 m.
pub const FIT_OF_SIZE: f64 = 1e-8;

/// A number of the DXF of the paths that is smaller than this is a zero: twelve decimals are written.
pub const WRITTEN_AS_ZERO: f64 = 0.5e-12;

/// Lengths without a closed form are integrated to this part of themselves.
pub const QUADRATURE: f64 = 1e-12;

/// An angle (radians) so small that its sine is itself in `f64`. Decides only which of two equal formulas is
/// computed.
pub const SMALL_TURN_RAD: f64 = 1e-8;

/// A curve whose points differ in height by less than this lies flat. The length lost by looking from above is
/// below 0.01 nm for a piece of 1 mm.
pub const LIES_FLAT_MM: f64 = 1e-4;

/// No length that a job gives of the work is shorter than this (0.1 µm): below it quotients leave the range of `f64`, and nothing is
/// cut or measured. Decides what is refused, never a number.
pub const SHORTEST_GIVEN_MM: f64 = 1e-4;

/// Nor is one longer than this (10 m): no machine holds such work. Decides what is refused, never a number.
pub const LONGEST_GIVEN_MM: f64 = 10_000.0;

/// A drawing that reaches farther than this from its origin (100 000 km) is refused: `f64` would no longer
/// keep 0.02 µm, and the unit is surely wrong.
pub const FARTHEST_MM: f64 = 1e11;

/// Two segments that meet at less than this angle go on smoothly: what is left is rounding of coordinates
/// in the drawing (0.06°). In radians.
pub const SMOOTH_JOINT_RAD: f64 = 1e-3;

/// A corner that turns by more than this is a sharp corner (5°): at 0.13 mm offset an inside corner of this
/// angle keeps 0.12 µm of material, about the accuracy of a path. Below it, and above
/// [`SMOOTH_JOINT_RAD`], it is a kink. In radians.
pub const SHARP_CORNER_RAD: f64 = 5.0 * std::f64::consts::PI / 180.0;

/// Wire diameters closer than this name the same wire of the book (0.01 in asks for 0.25 mm: 4 µm apart).
/// Decides which row is looked up; offsets are computed from the diameter of the book.
pub const SAME_WIRE_MM: f64 = 5e-3;

/// An arc that rises less than this above its chord *on the sheet* is drawn as a line. Decides pictures only,
/// never a number.
pub const DRAWN_STRAIGHT_MM: f64 = 1e-4;

/// Flattening of filled areas in magnified insets, mm on the sheet. Decides pictures only.
pub const DRAWN_FLAT_MM: f64 = 0.01;

/// A loop that encloses a circle's share of the square of its perimeter to within this is a circle. Decides what a
/// contour is *called* on the sheet.
pub const ROUND_SHARE: f64 = 1e-9;

/// Two angles (degrees) closer than this are one: an arc from 0 to 360.0000000001 is a full circle. At a radius of
/// 1 m it is 0.02 nm.
pub const SAME_ANGLE_DEG: f64 = 1e-9;

/// Two pieces of a spline that meet at an angle (radians) below this are one smooth curve; above it they meet in a
/// corner, which is kept. Over 1 mm the kink left inside a smooth run is 1 nm.
pub const SMOOTH_RAD: f64 = 1e-6;

/// A drawing smaller than this in both directions is hardly in the unit that it is read in: a part has to be clamped.
/// Common practice, no source.
pub const SMALLEST_PART_MM: f64 = 1.0;

/// A drawing larger than this in one direction is hardly in the unit that it is read in: few machines hold such a
/// part. Common practice, no source.
pub const LARGEST_PART_MM: f64 = 1000.0;
/// Two loops that lie this near to each other all along, but not within the join tolerance, are suspected to
/// be one loop drawn twice. Decides what is *reported*; both are kept.
pub const NEAR_DOUBLE_MM: f64 = 0.02;

/// Walls nearer to each other than this are listed place by place, narrower than any kerf or sound wall of
/// the trade and wider; of wider ones only each contour's narrowest is kept. Decides what is *listed*.
pub const WIDTH_LISTED_MM: f64 = 1.0;

/// Walls whose distance differs by less than this along a stretch are equally near all along it. Decides which place of a
/// slot or wall is *marked* and measured, so that a width may be told wider by no more than this.
pub const SAME_WIDTH_MM: f64 = 1e-4;

/// What is found on a path this near to a wall is told with the entity that draws the wall. Decides nothing but which line
/// of the file is *named*.
pub const AT_WALL_MM: f64 = 0.5;

/// The stock that a skim meets is summed to this part of what it is meant to remove.
pub const STOCK_AREA_SHARE: f64 = 1e-4;

/// A kink below this angle (1°) was probably meant to be smooth. Decides what is *reported* as an almost
/// tangent joint. In radians.
pub const NEARLY_SMOOTH_RAD: f64 = 1.0 * std::f64::consts::PI / 180.0;

/// A segment shorter than this is a crumb: no cutter of the trade can show it, and its direction is mostly
/// rounding. Decides what is *reported*.
pub const SHORT_SEGMENT_MM: f64 = 0.01;

/// A rectangle this near to the size of a drawing sheet has that size.
pub const SHEET_MM: f64 = 1.0;

/// Of walls that bound the ball by which a width is measured to within this share of its radius, one that faces
/// counts rather than one that does not: the chords of a bay are all equally near. Decides which wall is *named*.
pub const NEAR_BALL: f64 = 1e-3;

/// Two walls are equally near to a place when the balls between are of one radius to within this share.
pub const EQUAL_BALLS: f64 = 1e-5;

/// A third wall is in view when it makes the ball smaller by more than this share.
pub const SMALLER_BALL: f64 = 1e-4;

/// A length that somebody writes in another unit is rounded to so many steps a millimetre. Decides nothing but its last digits.
pub const TYPED_STEPS_PER_MM: f64 = 1e9;

/// Circles whose centres are this close are concentric, and a circle this close to a centre passes through it, mm. Decides which
/// questions are asked; no length follows from it.
pub const CONCENTRIC_MM: f64 = 0.02;

/// A closed line looks like a circle if its area falls short of that of a circle as long by no more than this share: a polygon of
/// 57 sides still does. Decides which questions are asked; no length follows from it.
pub const LOOKS_ROUND_SHARE: f64 = 1e-3;

/// Contours whose lengths differ by no more than this a segment are drawn alike, mm. Decides which questions are asked; no length follows
/// from it.
pub const ALIKE_MM: f64 = 0.01;

/// A rectangle has the proportions of a drawing sheet if they are off by no more than this share. Decides which questions are asked; no
/// length follows from it.
pub const SHEET_RATIO_SHARE: f64 = 2e-3;

/// A line whose ends are no farther apart than this share of its length was meant to close. Decides which questions are asked; no length
/// follows from it.
pub const NEARLY_CLOSED_SHARE: f64 = 0.1;

/// Where nothing reaches what is asked, plans whose expected errors differ by no more are as near: the cheapest is taken.
pub const AS_NEAR_MM: f64 = 0.5e-3;

/// Places of a path whose distances or lengths differ by no more are equally good: the first along the path is taken, whatever the last digits say.
pub const EQUALLY_GOOD_MM: f64 = 1e-6;
