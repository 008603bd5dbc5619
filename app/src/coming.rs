//! Stand-ins until the rooms of core are there. Removed before this branch is handed over.
#![allow(missing_docs)]
pub use self::intake_::*;
mod intake_ {
    use std::path::PathBuf;
    use yardring_core::survey::*;
    use yardring_core::place::Crs;
    #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
    pub enum Role { Parcels, Streets, Blocks, Visits, Signals, Temperatures }
    impl Role {
        pub const ALL: [Self; 6] = [Self::Parcels, Self::Blocks, Self::Streets, Self::Visits, Self::Signals, Self::Temperatures];
        pub fn name(self) -> &'static str {
            match self { Self::Parcels => "parcels", Self::Streets => "streets", Self::Blocks => "blocks", Self::Visits => "visits", Self::Signals => "signals", Self::Temperatures => "temperatures" }
        }
    }
    #[derive(Clone, Debug, PartialEq, Eq)]
    pub struct Finding { pub sentence: String, pub rows: usize, pub first: Vec<usize> }
    #[derive(Clone, Debug, PartialEq)]
    pub struct FileReport { pub file: String, pub table: &'static str, pub rows: usize, pub brought_in: usize, pub refused: usize, pub findings: Vec<Finding> }
    #[derive(Clone, Debug, Default, PartialEq)]
    pub struct Report { pub rows: usize, pub premises: usize, pub refused: usize, pub files: Vec<FileReport>, pub refused_list: Vec<RefusedRow>, pub visits: usize, pub unjoined: usize, pub refused_rows: usize }
    #[derive(Clone, Debug, Default)]
    pub struct ColumnMap;
    #[derive(Clone, Debug, Default)]
    pub struct Request { pub parcels: Option<PathBuf>, pub streets: Option<PathBuf>, pub blocks: Option<PathBuf>, pub visits: Option<PathBuf>, pub signals: Option<PathBuf>, pub temperatures: Option<PathBuf>, pub columns: ColumnMap, pub crs: Option<Crs> }
    pub fn bring_in(_: Option<&Survey>, _: &Request, _: &dyn yardring_core::job::Watch) -> Result<(Survey, Report), yardring_core::store::StoreError> { todo!() }
    pub struct ColumnUse { pub meaning: &'static str }
    pub fn guess_columns(_: Role, _: &[String]) -> Vec<ColumnUse> { Vec::new() }
    #[derive(Debug, Default)]
    pub struct History { undo: Vec<Survey>, redo: Vec<Survey> }
    impl History {
        pub fn can_undo(&self) -> bool { !self.undo.is_empty() }
        pub fn can_redo(&self) -> bool { !self.redo.is_empty() }
        pub fn undo(&mut self, s: &mut Survey) -> Result<bool, yardring_core::store::StoreError> { if let Some(o) = self.undo.pop() { self.redo.push(std::mem::replace(s, o)); return Ok(true) } Ok(false) }
        pub fn redo(&mut self, s: &mut Survey) -> Result<bool, yardring_core::store::StoreError> { if let Some(o) = self.redo.pop() { self.undo.push(std::mem::replace(s, o)); return Ok(true) } Ok(false) }
        pub fn replace(&mut self, s: &mut Survey, with: Survey) { self.redo.clear(); self.undo.push(std::mem::replace(s, with)); }
    }
}
