/// The JSON Schema (draft 2020-12) of one output.
#[derive(Clone, Copy, Debug)]
#[non_exhaustive]
pub struct Schema {
    /// Short name of the output.
    pub name: &'static str,
    /// What writes it.
    pub of: &'static str,
    /// Whether its fields are promised. What the page and the server of one program say to one another is not.
    pub is_promised: bool,
    /// The schema itself, ending in a line feed.
    pub text: &'static str,
}

macro_rules! schemas {
    ($($name:literal: $of:literal, $is_promised:literal;)*) => {
        [$(Schema {
            name: $name,
            of: $of,
            is_promised: $is_promised,
            text: include_str!(concat!("../../../docs/schema/", $name, ".schema.json")),
        }),*]
    };
}

/// The schemas of all outputs, as kept in `docs/schema`. Tests make them from the types of this module.
pub const SCHEMAS: [Schema; 16] = schemas! {
    "inspect": "inspect --json", true;
    "plan": "plan --json, plan --out, /plan.json of the page", true;
    "compare": "compare --json, compare --out", true;
    "quote": "quote --json, quote --out TABLE.jsonl: each line", true;
    "book": "book show --json", true;
    "calibrate": "calibrate --json", true;
    "gauge": "gauge --json", true;
    "drift": "drift --json", true;
    "inspection-sheet": "inspection-sheet --json, inspection-sheet --out", true;
    "readings": "/gauged and /drift of the page", false;
    "room": "room --json", true;
    "page": "/answer, /drawing and /summary of the page", false;
    "rest": "/rest of the page", false;
    "choices": "/choices.json of the page", false;
    "job": "/job of the page", true;
    "refused": "every request that the page refuses", false;
};

#[cfg(test)]
mod tests;
