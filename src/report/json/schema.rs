/// The JSON Schema (draft 2020-12) of one output.
#[derive(Clone, Copy, Debug)]
pub struct Schema {
    /// Short name of the output.
    pub name: &'static str,
    /// What writes it.
    pub of: &'static str,
    /// The schema itself, ending in a line feed.
    pub text: &'static str,
}

macro_rules! schemas {
    ($($name:literal: $of:literal,)*) => {
        [$(Schema {
            name: $name,
            of: $of,
            text: include_str!(concat!("../../../docs/schema/", $name, ".schema.json")),
        }),*]
    };
}

/// The schemas of all outputs, as kept in `docs/schema`. Tests make them from the types of this module.
pub const SCHEMAS: [Schema; 10] = schemas! {
    "inspect": "inspect --json",
    "plan": "plan --json, plan --out, /plan.json of the page",
    "compare": "compare --json, compare --out",
    "quote": "quote --json, quote --out TABLE.jsonl: each line",
    "book": "book show --json",
    "calibrate": "calibrate --json",
    "page": "/answer, /drawing and /summary of the page",
    "choices": "/choices.json of the page",
    "job": "/job of the page",
    "refused": "every request that the page refuses",
};

#[cfg(test)]
mod tests;
