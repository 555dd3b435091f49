use serde::{Deserialize, Serialize};

/// How the nozzles sit on the work.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Nozzles {
    /// Both on the work.
    #[default]
    Sealed,
    /// One off the work.
    OneOpen,
    /// Both off the work.
    BothOpen,
}

/// What decides between plans that all meet the demand.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
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
