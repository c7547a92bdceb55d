//! Numbers on the record: whole values are written without a fraction, so that "1 mg" reads `1` and not `1.0`,
//! and the canonical text of a record does not depend on how a tablet happened to spell a number.

use serde::Serializer;

/// Whole numbers up to this size survive a round trip through a double.
const LARGEST_WHOLE: f64 = 9_007_199_254_740_992.0;

/// Serialises a finite number, whole ones as integers.
pub(crate) fn serialize<S: Serializer>(value: &f64, serializer: S) -> Result<S::Ok, S::Error> {
    if value.fract() == 0.0 && value.abs() < LARGEST_WHOLE {
        #[expect(clippy::cast_possible_truncation, reason = "whole and within 2^53, tested above")]
        serializer.serialize_i64(*value as i64)
    } else {
        serializer.serialize_f64(*value)
    }
}

/// The same for a number that may be absent.
pub(crate) mod optional {
    use serde::Serializer;

    /// Serialises `null` or a number as [`super::serialize`] does.
    pub(crate) fn serialize<S: Serializer>(value: &Option<f64>, serializer: S) -> Result<S::Ok, S::Error> {
        match value {
            Some(value) => super::serialize(value, serializer),
            None => serializer.serialize_none(),
        }
    }
}
