#![no_main]
#![allow(dead_code)] // each target has one of the properties

#[path = "../properties.rs"]
mod properties;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| properties::requests(bytes));
