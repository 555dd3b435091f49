/// Returns the known word most like `asked`, if any is similar: for "did you mean".
pub fn nearest<'a>(asked: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    const ALIKE: f64 = 0.75;
    let asked = asked.to_lowercase();
    known
        .into_iter()
        .map(|word| (strsim::jaro_winkler(&asked, &word.to_lowercase()), word))
        .filter(|(likeness, _)| *likeness >= ALIKE)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, word)| word)
}
