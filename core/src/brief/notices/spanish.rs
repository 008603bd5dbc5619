//! Notices in Spanish, as it is spoken in the southern United States and the Caribbean, with "usted". Sentences about things that were found go
//! round their gender, for the office names kinds of its own.

use super::phrases::{Phrases, counts};
use crate::foresee::DAYS_BETWEEN;
use crate::survey::calendar::spanish_day;
use crate::survey::{Action, Find, Remedy, StaysOpen};

pub const PHRASES: Phrases = Phrases {
    day: spanish_day,
    and: "y el",
    parcel: "parcela {}",
    sheet: "hoja {} de {}",
    file_title: "Avisos para los residentes",
    left_title: "Agua en su patio: lo que falta por hacer",
    shut_title: "Pasamos por su casa: llámenos, por favor",
    inspected: "El {} estuvimos en su patio y buscamos agua donde se crían mosquitos.",
    from_outside: "El {} vimos desde afuera una parte de su patio, con agua donde se crían mosquitos.",
    no_answer: "Pasamos por su puerta el {} para buscar agua donde se crían mosquitos. Nadie contestó.",
    locked_gate: "Pasamos por su portón el {} para buscar agua donde se crían mosquitos. El portón estaba cerrado con llave.",
    larvae: "Las larvas y las pupas son mosquitos pequeños: en el agua no pican, y sin agua se mueren.",
    still_to_do: "Lo que falta",
    before_they_fly: "Hágalo a más tardar el {}: después de ese día pueden salir mosquitos de esa agua.",
    within,
    at_once: "Hágalo cuanto antes: del agua que había el día de nuestra visita ya pueden salir mosquitos.",
    found,
    done,
    already_done: "Ya se hizo",
    open,
    unnamed: "recipiente ({})",
    what_to_do: "Qué hacer: {}.",
    remedy,
    or: "o",
    general: "Vacíe el agua y no deje que se junte otra vez: ponga boca abajo o bajo techo lo que necesite, y tire lo que no.",
    ask: "Llame, por favor, y díganos cuándo podemos venir. Toma pocos minutos, y usted puede acompañarnos. Entramos solo con permiso o como la ley lo permita.",
    look: "Mientras tanto, revise usted",
    look_at: [
        "Platos de macetas, cubos, macetas, juguetes: ¿vacíos y secos?",
        "Lonas y cubiertas: ¿estiradas y sin charcos?",
        "Canaletas y tubos de desagüe: ¿se secan del todo?",
        "Llantas: ¿ya se entregaron, o están bajo techo?",
        "Barriles y cisternas: ¿cerrados con tapa o malla?",
    ],
    keep: "Para que siga así",
    keep_so: [
        "Cada semana y después de la lluvia, vacíe, voltee o guarde bajo techo todo lo que junte agua, y restriéguelo: los huevos se pegan a las paredes.",
        "Lo que no se puede mover: hágale un agujero en el punto más bajo, cúbralo con malla fina o llénelo de arena.",
        "Mire por encima de la cerca y avise a sus vecinos: los mosquitos vuelan de patio en patio, y la calle descansa solo cuando todos los patios están secos.",
    ],
    care: "Tenga cuidado",
    take_care: [
        "Escaleras: solo en suelo firme y con alguien que las sostenga.",
        "Mire antes de meter la mano: vidrio, agujas, óxido, avispas, culebras. Use guantes y zapatos cerrados.",
        "Nunca trate el agua de beber, y no beba agua que estuvo al aire libre.",
        "No use químicos cuya etiqueta no indique este uso. No eche aceite ni cloro al agua ni a los desagües.",
        "Estanques con peces: no les eche nada.",
    ],
    questions: "¿Preguntas, o necesita ayuda? {}",
    telephone: "¿Preguntas, o necesita ayuda? Teléfono",
    reference: "Número de referencia",
    thanks: "¡Gracias!",
};

fn within(day: &str, days: i64) -> String {
    match days {
        1 => format!("Hágalo a más tardar el {day}: al día siguiente de nuestra visita, porque hace calor."),
        n if n < DAYS_BETWEEN => format!("Hágalo a más tardar el {day}: en los {n} días después de nuestra visita, porque hace calor."),
        n => format!("Hágalo a más tardar el {day}: en los {n} días después de nuestra visita, y antes si hace calor."),
    }
}

fn found(find: &Find) -> String {
    let living = match (find.with_larvae > 0, find.has_pupae()) {
        (true, true) => "larvas y pupas",
        (false, true) => "pupas",
        _ => "larvas",
    };
    match counts(find) {
        (n, 0, 0) => format!("{n}, sin agua cuando miramos."),
        (1, _, 0) => "1, con agua.".to_owned(),
        (1, _, _) => format!("1, con agua y con {living}."),
        (n, wet, 0) => format!("{n}, {wet} con agua."),
        (n, wet, alive) => format!("{n}, {wet} con agua, {alive} con {living}."),
    }
}

fn done(action: Action, many: bool) -> &'static str {
    match (action, many) {
        (Action::Emptied, _) => "se vació el agua",
        (Action::TurnedOver, false) => "se le dio la vuelta",
        (Action::TurnedOver, true) => "se les dio la vuelta",
        (Action::Drilled, false) => "se le hizo un agujero de desagüe",
        (Action::Drilled, true) => "se les hicieron agujeros de desagüe",
        (Action::Screened, false) => "se cubrió con malla",
        (Action::Screened, true) => "se cubrieron con malla",
        (Action::StoredInside, false) => "se guardó bajo techo",
        (Action::StoredInside, true) => "se guardaron bajo techo",
        (Action::Removed, false) => "se retiró",
        (Action::Removed, true) => "se retiraron",
        (Action::Fish, _) => "se pusieron peces",
        (Action::Treated, _) => "se trató el agua",
        (Action::Aerated, _) => "se puso el agua en movimiento",
        (Action::Left, false) => "se dejó como estaba",
        (Action::Left, true) => "se dejaron como estaban",
    }
}

fn open(why: StaysOpen, many: bool) -> &'static str {
    match (why, many) {
        (StaysOpen::LeftStanding, _) => "El agua sigue ahí.",
        (StaysOpen::HoldsUpsideDown, false) => "Se le dio la vuelta, pero boca abajo también guarda agua.",
        (StaysOpen::HoldsUpsideDown, true) => "Se les dio la vuelta, pero boca abajo también guardan agua.",
        (StaysOpen::Promised, _) => "",
    }
}

fn remedy(remedy: Remedy) -> &'static str {
    match remedy {
        Remedy::Tip => "vaciar el agua",
        Remedy::Turn => "dar la vuelta",
        Remedy::Drill => "hacer un agujero en el punto más bajo",
        Remedy::Screen => "cubrir con malla fina",
        Remedy::StoreInside => "guardar bajo techo",
        Remedy::ThrowOut => "tirar a la basura",
        Remedy::Fill => "llenar de arena",
        Remedy::Clear => "limpiar para que escurra el agua",
        Remedy::Fish => "poner peces donde esté permitido",
        Remedy::Circulate => "mantener el agua en movimiento",
        Remedy::Treat => "avisarnos para tratar el agua",
    }
}
