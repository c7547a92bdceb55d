//! The hash chain of a code: SHA-256 over the previous hash and the exact stored text. Only the writer makes links;
//! everybody may check them.

use sha2::{Digest, Sha256};

/// A link's hash.
pub type Hash = [u8; 32];

/// What the first link follows.
pub const START: Hash = [0; 32];

/// The hash of a record's exact text after the one before it.
pub fn link(previous: &Hash, text: &str) -> Hash {
    let mut hasher = Sha256::new();
    hasher.update(previous);
    hasher.update(text.as_bytes());
    hasher.finalize().into()
}

/// SHA-256 of a text, as people and files write it: how a record vouches for the text of its protocol.
pub fn of_text(text: &str) -> String {
    hex(&Sha256::digest(text.as_bytes()))
}

/// A hash as people and files write it.
pub fn hex(hash: &[u8]) -> String {
    use std::fmt::Write;
    hash.iter().fold(String::with_capacity(hash.len() * 2), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// SHA-256 of 32 zero bytes and "abc", computed with coreutils' sha256sum; the algorithm is FIPS 180-4.
    #[test]
    fn a_link_is_sha_256_of_hash_and_text() {
        assert_eq!(hex(&link(&START, "abc")), EXPECTED);
    }

    /// FIPS 180-4's own example: the hash of "abc".
    #[test]
    fn a_text_is_vouched_for_by_its_sha_256() {
        assert_eq!(of_text("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }

    const EXPECTED: &str = "365aa7d8f7f9402c4b9434502b4cc89ddb09fe50d7cd95b493b834c62d5a5370";
}
