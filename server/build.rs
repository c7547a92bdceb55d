//! Makes the folder of built assets exist, so that it can be embedded whether or not the screens were built. It never
//! runs npm; the Makefile does, before cargo.

use std::path::Path;

fn main() {
    let dist = Path::new("../client-web/dist");
    println!("cargo:rerun-if-changed=../client-web/dist");
    println!("cargo:rerun-if-changed=../migrations");
    println!("cargo:rerun-if-changed=protocols");
    if !dist.exists() {
        // Without it the embedding macro has nothing to read. An empty folder is not a build: `serve` says so.
        if let Err(error) = std::fs::create_dir_all(dist) {
            println!("cargo:warning=client-web/dist could not be made: {error}");
        }
    }
}
