//! Any bytes as a cabinet's header and as a backup's head, with the sum they have and with one that holds.
#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let _ = cabinet::outside::header(bytes);
    let _ = cabinet::outside::backup_head(bytes, bytes.len() as u64 + 4096);
});
