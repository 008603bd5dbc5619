//! Row numbers of a survey's columns, one type for each kind of row.

macro_rules! row_number {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub u32);

        impl $name {
            /// The row number as an index into a column.
            pub fn row(self) -> usize {
                self.0 as usize
            }
        }
    };
}

row_number!(/// A premise, by its row in [`super::Premises`].
    PremiseId);
row_number!(/// A block, by its row in [`super::Blocks`].
    BlockId);
row_number!(/// A visit, by its row in [`super::Visits`].
    VisitId);
row_number!(/// A round, by its place in [`super::Survey::rounds`].
    RoundId);
row_number!(/// A kind of container, by its place in [`super::Survey::kinds`].
    KindId);
