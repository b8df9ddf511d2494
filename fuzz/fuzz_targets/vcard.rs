//! Any bytes as a list of clients: what is read can be kept as it is.
#![no_main]

use cabinet::read_vcards;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    for client in read_vcards(bytes).clients {
        assert!(client.details.check().is_ok(), "read, but not to be kept");
    }
});
