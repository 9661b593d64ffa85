//! Bytes of an instrument's file to text: byte-order mark, UTF-16 without one, UTF-8, Windows-1252.

use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

/// The text of `bytes`. Every byte string is some text; what is wrong with it shows later.
pub(crate) fn decode(bytes: &[u8]) -> String {
    let (encoding, skip) = match Encoding::for_bom(bytes) {
        Some(found) => found,
        None => (guess(bytes), 0),
    };
    let rest = bytes.get(skip..).unwrap_or_default();
    encoding.decode_without_bom_handling(rest).0.into_owned()
}

/// Latin text in UTF-16 has a zero in every second byte; text in UTF-8 and Windows-1252 has none.
fn guess(bytes: &[u8]) -> &'static Encoding {
    let sample = &bytes[..bytes.len().min(4096)];
    let zeros = |start: usize| {
        sample
            .iter()
            .skip(start)
            .step_by(2)
            .filter(|it| **it == 0)
            .count()
    };
    let (even, odd) = (zeros(0), zeros(1));
    let pairs = sample.len() / 2;
    if 0 < pairs && pairs < 2 * odd && 4 * even < odd {
        UTF_16LE
    } else if 0 < pairs && pairs < 2 * even && 4 * odd < even {
        UTF_16BE
    } else if std::str::from_utf8(bytes).is_ok() {
        UTF_8
    } else {
        WINDOWS_1252
    }
}
