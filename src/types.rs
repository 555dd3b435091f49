//! Every type that a plan, an inspection, a comparison or a book is made of, so that it can be named.

pub use crate::calibrate::{Calibrated, FurtherColumn, JobOutcome, LogFlaw, NoFit, NoFitReason, RateFit};
pub use crate::cancel::Cancelled;
pub use crate::check::{Check, CheckedGroup, Sink, Stage, Subject};
pub use crate::contour::{
    Branch, ClosedLine, Contact, ContactCounts, Contour, Contours, Corner, Crumbs, DuplicateContour,
    DuplicateCurve, Facets, Facts, Gap, Kink, KnownNames, MergedJoint, MissingName, Overlap, PurposeFrom,
    Role, ShortSegments, SideFrom, StyleNotCut, Width,
};
pub use crate::drawing::{
    Curve, CurveFact, CurveFactKind, Drawing, Error as DrawingError, Ignored, Origin, PlacedPoint,
    PlacedText, Units, UnitsSource,
};
pub use crate::dxf::Error as DxfError;
pub use crate::dxf::document::{Layer, Notice, NoticeKind};
pub use crate::estimate::{
    Accuracy, AuxiliaryWork, BlankMaterial, BudgetTerm, Confidence, CostBreakdown, Cut, CutRow, Estimate,
    GroupQuality, JobTotals, Order, OrderTotals, PacedMinutes, PassLength, Presence, StartHoles, Time,
    TimeTerm, Verdict, WireBow, WireUse,
};
pub use crate::finding::{Finding, Mend, MendedName, Quantity, Severity};
pub use crate::gauge::{
    Across, AxisHalfKerf, Baseline, BeyondRoom, ControlLimits, Drift, DriftLog, DriftPoint, DriftRecipe,
    DriftSignal, Error as GaugeError, FormError, GaugedHeight, GaugedPass, GaugedSize, GaugedValue,
    GaugedWall, Gauging, GaugingPlace, InstrumentErrors, LagSource, LengthDrift, LimitState, MeasuredSize,
    NotProbed, OffsetChange, OutlyingReading, PartLag, PieceFacts, PieceOutline, PointsLeftOut, ProbeOptions,
    ProbePoint, ReadingFlaw, Readings, RecipeDrift, RoomDrift, RoomLog, RoomPoint, RoomReading, SignalRule,
    SizeKind, SizeReading, TestPiece, Uncertainty, UncertaintyTerm, WallReading,
};
pub use crate::geometry::refit::FacetedRun;
pub use crate::geometry::{Bounds, Point, Polyline, Segment, Vector, Vertex};
pub use crate::id::{ContourId, GroupId, LoopId, PassNo};
pub use crate::job::{
    Absent, Asked, BlankSize, ByContour, Demand, DemandError, DrawingSize, FillFrom, Finish, GivenName,
    JobFileError, JobPurpose, Key, KeyGroup, LeadShape, NameKind, Nozzles, OffsetBasis, OpenSkims,
    PieceOptions, Prefer, Purpose, Purposes, Reading, Scope, Side, SlugPolicy, StartFrom, StartOptions,
    Stops, TabFace, TabOptions, Tolerance, ToleranceKind, UnknownWord, WireOptions, Workholding,
};
pub use crate::message::{Digits, Message, MessagePart, QuantityValue, UnitSymbol};
pub use crate::pass::{
    BeyondThickness, Borrowed, Error as PassError, Pass, PassKind, PassRequest, PassTrace, Schedule, Setting,
    Surface, WireReach,
};
pub use crate::plan::{
    Activity, Candidate, ContourShare, CutContour, Day, DayBlock, DemandGroup, DemandGroups, DrawingTotals,
    DrawnParts, EqualParts, FigureBasis, GroupPlan, InspectionSheet, OperationRow, ParallelLength, Remedy,
    RemedyKind, Setup, Shortfall, TimedOperation, WallRequirement, WireStretch, WorstError,
};
pub use crate::process::{
    BeyondMachine, BlankFault, BlankFaults, BlankOrigin, ClampZone, Coreless, DistortionReason,
    DistortionRisk, Leads, MachineLimit, NotCoreless, NotSkimmed, Operation, OperationKind, Piece, PieceKind,
    Process, ProcessAssumption, RawBlank, Removal, Separation, SeveralTabs, ShorterStart, SlugReason, Start,
    StartOrigin, Starts, Tab, UnusedHole, WeighedSlug,
};
pub use crate::question::{
    FrameSign, Interpretation, KeptLoss, Question, QuestionCase, QuestionKind, Questions, SheetFrame,
    StayingPlace,
};
pub use crate::shop::{
    AmbiguousMaterial, Basis, Calibration, CalibrationRule, Case, Designation, Doubt, Drive, Figure, Flaw,
    FlawSource, Flaws, FlushingRule, FormErrorRule, GaugingErrors, HoldingRule, Listed, Machine,
    MachineError, MachineRate, Material, MaterialError, MinutesHold, Number, OpenCutRule, OwnValues,
    PieceRule, Prices, Recipe, RecipePass, RefusedMaterial, Room, Rules, SingleCut, SkimRule, SlugRule,
    SparkGapRule, StartHoleRule, SurfaceRule, TabRule, Term, TestPieceSizes, ThicknessRule, Threading, Times,
    UnknownMinutes, Wire, WireDefaults, WireDiameterRule, WireError, WireKind, WireSize,
};
pub use crate::toolpath::{
    CutEnd, Engagement, Incomplete, IncompleteReason, Neck, NeighbourHit, OffcutShape, OpenCut, Overload,
    PathFault, PathRefusal, Proposer, RefusalReason, SlitBand, Split, Toolpaths, Unreached, UnreachedKind,
    Vanished, WallCut, WireLoop,
};
pub use crate::units::fit::{Class, FitError};
pub use crate::units::{Band, Feature, Limits, Unit};
