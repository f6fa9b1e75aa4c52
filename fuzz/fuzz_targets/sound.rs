#![no_main]

use std::panic::{set_hook, take_hook};

#[path = "../targets/mod.rs"]
mod targets;

libfuzzer_sys::fuzz_target!(
    init: {
        // The fuzzer's own hook ends the run at any panic, before it can be caught.
        let fatal = take_hook();
        set_hook(Box::new(move |panic| {
            if !drywire::sound::is_guarded() {
                fatal(panic);
            }
        }));
    },
    |bytes: &[u8]| targets::sound::run(bytes)
);
