//! The usual kinds of container in Spanish, as it is spoken in the southern United States and the Caribbean, with "usted".

/// Name in English, name in Spanish, what to say in Spanish: the same as the English words say.
type Row = (&'static str, &'static str, &'static str);

#[rustfmt::skip]
const ROWS: [Row; 45] = [
    ("bamboo stump", "tocón de bambú", "Corte el bambú justo debajo de un nudo para que no quede ningún hueco, o rellene los tocones con arena."),
    ("bird bath", "bebedero de pájaros", "Vacíe y restriegue el bebedero todas las semanas."),
    ("boat", "bote", "Quite el tapón de desagüe, o deje el bote boca abajo sobre bloques, de modo que ningún hueco guarde agua."),
    ("bottle or can", "botella o lata", "Eche las botellas, las latas y los vasos en un basurero con tapa."),
    ("bucket", "cubo o cubeta", "Guarde los cubos bajo techo. Boca abajo, el reborde del fondo también guarda agua: hágale un agujero."),
    ("building material", "material de construcción", "Cubra el material de construcción de modo que el agua escurra, o apílelo de lado."),
    ("buried pipe", "tubería enterrada", "Ponga malla en los dos extremos de la tubería. Donde se hunde queda agua, y nosotros podemos tratarla."),
    ("catch basin", "alcantarilla de la calle", "No deje que se acumulen hojas en la alcantarilla. Nosotros avisamos a obras públicas."),
    ("cistern", "cisterna", "Cierre la cisterna con una tapa que ajuste bien o con malla fina."),
    ("corrugated drain pipe", "tubo de desagüe corrugado", "Cada pliegue guarda agua. Use tubo liso con pendiente, o quite este y sacúdalo después de cada lluvia."),
    ("covered deck", "terraza techada", "Mire debajo de la terraza con una linterna: lo que está ahí no se seca. Sáquelo."),
    ("draped tarp", "lona con pliegues", "Cada pliegue guarda agua. Estire bien la lona, o guárdela bajo techo."),
    ("fence post", "poste hueco", "Tape los postes huecos, o rellénelos con arena."),
    ("fountain", "fuente", "Mantenga la bomba funcionando, o vacíe la fuente."),
    ("gutter", "canaleta del techo", "Limpie las canaletas para que se sequen después de la lluvia. Tenga cuidado con las escaleras."),
    ("gutter with seedlings", "canaleta con plantas", "Donde una canaleta no se seca nacen plantas. Mande limpiarla y darle pendiente."),
    ("hollow toy", "juguete hueco", "Si al sacudirlo suena agua, hágale un agujero en la esquina más baja."),
    ("ice chest", "hielera", "Guarde la hielera bajo techo, o déjela boca abajo con el tapón abierto."),
    ("junk", "chatarra", "Haga que se la lleven, o póngala bajo techo."),
    ("leaf cups of plants", "planta que guarda agua en las hojas", "Enjuague con la manguera, todas las semanas, las plantas que guardan agua en las hojas."),
    ("lid", "tapa", "Apoye las tapas de canto, o hágales un agujero."),
    ("meter box", "caja del medidor", "Avísenos si la caja junto a la acera sigue llena de agua. Nosotros avisamos a la compañía."),
    ("open deck", "terraza de tablas", "La lluvia pasa entre las tablas: saque lo que está debajo de la terraza, o póngalo boca abajo."),
    ("pet dish", "plato de mascota", "Cambie el agua de las mascotas todos los días y restriegue el plato."),
    ("plant in water", "planta en agua", "Cambie el agua de las plantas todas las semanas, o póngalas a echar raíces en arena húmeda."),
    ("plant saucer", "plato de maceta", "Quite los platos de las macetas, o llénelos de arena para que no quede agua."),
    ("pond", "estanque", "Ponga peces en el estanque donde esté permitido, o mantenga el agua en movimiento."),
    ("pond with fish", "estanque con peces", "Conserve los peces, y corte las plantas de la orilla para que lleguen a todas partes."),
    ("ponding tarp", "lona con charcos", "Estire la lona y apuntálela de modo que el agua escurra."),
    ("pool", "piscina", "Encienda la bomba todos los días y mantenga limpia el agua."),
    ("pool with idle pump", "piscina con la bomba apagada", "Ponga la bomba a funcionar, o mande vaciar la piscina. Mientras tanto podemos ponerle peces o tratar el agua."),
    ("rain barrel", "barril de lluvia", "Cubra todas las aberturas del barril con malla fina, también la del rebose."),
    ("recycling bin", "bote de reciclaje o de basura", "Haga agujeros en el fondo de los botes. Las tapas y los bordes también guardan agua boca abajo."),
    ("septic tank", "tanque séptico", "Repare la tapa y ponga malla en el respiradero. No abra el tanque."),
    ("tarp", "lona", "Estire la lona para que el agua escurra, o dóblela y guárdela bajo techo."),
    ("tire", "llanta o goma", "Una llanta guarda agua en cualquier posición. Entréguela, guárdela bajo techo o hágale agujeros."),
    ("toilet", "inodoro sin uso", "Descargue los inodoros sin uso y enjuague los desagües todas las semanas, o tápelos."),
    ("toy", "juguete", "Ponga los juguetes bajo techo. Los que suenan a agua necesitan un agujero en la esquina más baja."),
    ("tree hole", "hueco de árbol", "Rellene el hueco con arena, o deje que lo tratemos. No perfore el árbol."),
    ("upturned pot", "maceta boca abajo", "El borde de una maceta boca abajo todavía guarda agua. Guarde las macetas bajo techo, o acuéstelas de lado."),
    ("wading pool", "piscina de niños", "Vacíe la piscina de los niños cuando nadie la use, y déjela de canto."),
    ("water softener tray", "bandeja del aire acondicionado", "Lleve el agua del aire acondicionado a un suelo que la absorba."),
    ("watering can", "regadera", "Guarde las regaderas bajo techo, o vacías y de lado."),
    ("wheelbarrow", "carretilla", "Deje la carretilla parada sobre la punta."),
    ("trough", "bebedero de animales", "Vacíe y restriegue el bebedero todas las semanas, o póngale peces."),
];

/// The name and the words of a usual kind in Spanish.
pub(super) fn of(kind: &str) -> Option<(&'static str, &'static str)> {
    ROWS.iter().find(|row| row.0 == kind).map(|row| (row.1, row.2))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::survey::ContainerKnowledge;

    /// Every usual kind has both, in letters of Spanish alone, no name twice, and no row is left over.
    #[test]
    fn every_usual_kind_is_told_in_spanish() {
        let known = ContainerKnowledge::usual();
        let mut names: Vec<&str> = ROWS.iter().map(|r| r.1).collect();
        names.sort_unstable();
        assert!(names.windows(2).all(|w| w[0] != w[1]));
        for row in ROWS {
            let kind = known.kinds().iter().find(|k| &*k.kind == row.0).unwrap_or_else(|| panic!("{} is no usual kind", row.0));
            assert_eq!((&*kind.kind_in_spanish, &*kind.words_in_spanish), (row.1, row.2));
        }
        assert!(known.kinds().iter().all(|k| of(&k.kind).is_some_and(|(name, words)| !name.is_empty() && words.ends_with('.'))));
        let letters = |c: char| c.is_ascii_alphabetic() || "áéíóúñü .,:".contains(c.to_lowercase().next().unwrap());
        assert!(ROWS.iter().all(|r| r.1.chars().chain(r.2.chars()).all(letters)));
    }
}
