//! Writes the TypeScript types of the wire from the Rust ones, and fails while the committed file is stale.
//! It exists in tests only; the server itself knows nothing of TypeScript.

use std::any::TypeId;
use std::collections::{BTreeMap, HashSet};
use std::path::PathBuf;

use ts_rs::{Config, TS, TypeVisitor};

use crate::review::trends::TrendsAnswer;
use crate::review::wire::{
    AccessPage, ChangeRequest, CodeFilter, CodePage, Conflict, DebriefRequest, ReviewedCode, SessionState, SignIn,
    SignatureRequest,
};
use crate::wire::{
    Battery, ClientMessage, CodeSummary, DeviceInfo, RefusalReason, RosterEntry, ServerMessage, ViewMessage,
};

/// Set to `1` to rewrite the file instead of only comparing it.
const REWRITE: &str = "COXSWAIN_WRITE_TYPES";

/// Collects the declaration of a type and of everything it is made of.
struct Collected {
    config: Config,
    seen: HashSet<TypeId>,
    declarations: BTreeMap<String, String>,
}

impl TypeVisitor for Collected {
    fn visit<T: TS + 'static + ?Sized>(&mut self) {
        if !self.seen.insert(TypeId::of::<T>()) {
            return;
        }
        if T::output_path().is_some() {
            let docs = T::docs().unwrap_or_default();
            let declaration = format!("{docs}export {}", T::decl(&self.config));
            self.declarations.insert(T::ident(&self.config), declaration);
        }
        T::visit_dependencies(self);
        T::visit_generics(self);
    }
}

fn declarations() -> String {
    let mut collected = Collected {
        config: Config::new().with_large_int("number"),
        seen: HashSet::new(),
        declarations: BTreeMap::new(),
    };
    collected.visit::<ClientMessage>();
    collected.visit::<ServerMessage>();
    collected.visit::<RefusalReason>();
    collected.visit::<CodeSummary>();
    collected.visit::<DeviceInfo>();
    collected.visit::<Battery>();
    collected.visit::<RosterEntry>();
    collected.visit::<ViewMessage>();
    collected.visit::<SignIn>();
    collected.visit::<SessionState>();
    collected.visit::<CodeFilter>();
    collected.visit::<CodePage>();
    collected.visit::<ReviewedCode>();
    collected.visit::<ChangeRequest>();
    collected.visit::<DebriefRequest>();
    collected.visit::<SignatureRequest>();
    collected.visit::<Conflict>();
    collected.visit::<AccessPage>();
    collected.visit::<TrendsAnswer>();
    let mut text = String::from(
        "// Generated from server/src/wire.rs, server/src/review and the engine's types by `COXSWAIN_WRITE_TYPES=1 cargo test -p coxswain --lib types`.\n\
         // Do not edit: a test fails when it is stale.\n",
    );
    for declaration in collected.declarations.values() {
        text.push('\n');
        text.push_str(declaration);
        text.push('\n');
    }
    text
}

#[test]
fn the_committed_typescript_types_are_fresh() {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../client-web/src/wire/generated.ts");
    let fresh = declarations();
    if std::env::var(REWRITE).is_ok_and(|value| value == "1") {
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, &fresh).unwrap();
    }
    let committed = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(committed == fresh, "client-web/src/wire/generated.ts is stale: run with {REWRITE}=1 and commit the file");
}
