//! The name that was probably meant.

/// The candidate nearest to a mistyped name, if one is near enough to be worth asking about.
pub(crate) fn nearest<'c>(name: &str, candidates: &[&'c str]) -> Option<&'c str> {
    near(name, candidates.iter().copied()).first().copied()
}

/// All candidates near enough, the nearest first.
pub(super) fn near<'c>(name: &str, candidates: impl Iterator<Item = &'c str>) -> Vec<&'c str> {
    let length = name.chars().count();
    if length > 64 {
        return Vec::new();
    }
    let name = name.to_lowercase().replace(['_', ' '], "-");
    let mut found: Vec<(usize, &str)> = candidates
        .map(|candidate| (strsim::damerau_levenshtein(&name, &candidate.replace('_', "-")), candidate))
        .filter(|(distance, candidate)| *distance <= length.max(candidate.len()) / 3)
        .collect();
    found.sort_unstable();
    found.into_iter().map(|(_, candidate)| candidate).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_of_the_finger_is_understood() {
        let keys = ["family", "full_cure", "wash", "open"];
        assert_eq!(nearest("famly", &keys), Some("family"));
        assert_eq!(nearest("Full-Cure", &keys), Some("full_cure"));
        assert_eq!(nearest("opne", &keys), Some("open"));
        assert_eq!(nearest("price", &keys), None);
        assert_eq!(nearest("", &keys), None);
        assert_eq!(nearest(&"x".repeat(100_000), &keys), None);
    }
}
