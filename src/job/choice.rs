use super::word::words;

/// How the nozzles sit on the work.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename_all = "kebab-case"))]
#[non_exhaustive]
pub enum Nozzles {
    /// Both on the work.
    #[default]
    Sealed,
    /// One off the work.
    OneOpen,
    /// Both off the work.
    BothOpen,
}

words!(Nozzles: "sealed" => Sealed, "one-open" => OneOpen, "both-open" => BothOpen);

/// What decides between plans that all meet the demand.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(test, derive(schemars::JsonSchema), schemars(rename_all = "kebab-case"))]
#[non_exhaustive]
pub enum Prefer {
    /// The least time.
    #[default]
    Time,
    /// The least cost.
    Cost,
    /// The finest surface.
    Finish,
    /// The smallest expected error.
    Accuracy,
}

words!(Prefer: "time" => Time, "cost" => Cost, "finish" => Finish, "accuracy" => Accuracy);

/// How well the offset is known.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(
    test,
    derive(schemars::JsonSchema),
    schemars(rename = "OffsetIs", rename_all = "kebab-case")
)]
#[non_exhaustive]
pub enum OffsetBasis {
    /// A test piece has been cut and gauged, and the offset corrected by it.
    #[default]
    Gauged,
    /// As the model has it.
    Modelled,
}

words!(OffsetBasis: "gauged" => Gauged, "modelled" => Modelled);
