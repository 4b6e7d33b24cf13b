// One table of everything a code can tell a person: what it is, and what to do
// next. Codes come from the core (warnings, attention, form errors, reasons, limits,
// missing figures) and from the worker and the server (problems).

export interface Advice { says: string; next: string }
type Row = Readonly<Record<'en' | 'es', readonly [says: string, next: string]>>;

const warnings = {
  overdraw: {
    en: ['More powder taken than the books hold', 'Weigh the place; a late entry may explain it.'],
    es: ['Se tomó más pintura de la que hay en los libros', 'Pese el lugar; una anotación tardía puede explicarlo.'],
  },
  weighed_above: {
    en: ['Weighed above the books', 'Check the tare and the last moves, then weigh again.'],
    es: ['El peso supera los libros', 'Revise la tara y los últimos movimientos y pese otra vez.'],
  },
  mixed_powder: {
    en: ['Two powders in one vessel', 'Keep it off the parts; scrap it or use it where the colour does not matter.'],
    es: ['Dos pinturas en un recipiente', 'No la use en piezas; deséchela o úsela donde el color no importe.'],
  },
  uncleaned_vessel: {
    en: ['Another powder into a vessel that was not fully cleaned', 'Clean the vessel in full first, or take a clean one.'],
    es: ['Otra pintura en un recipiente sin limpieza total', 'Haga antes la limpieza total o use un recipiente limpio.'],
  },
  cleaning_below: {
    en: ['Cleaned less than the rule asks', 'Clean up to the level needed, or watch the first parts for specks.'],
    es: ['Limpieza por debajo de la regla', 'Limpie hasta el nivel necesario o vigile motas en las primeras piezas.'],
  },
  lot_expired: {
    en: ['The lot is past its use-by day', 'Test a panel before use, or take another lot.'],
    es: ['El lote está vencido', 'Pruebe un panel antes de usarlo o tome otro lote.'],
  },
  lot_held: {
    en: ['The lot is on hold', 'Ask who put it on hold, or take another lot.'],
    es: ['El lote está retenido', 'Pregunte a quien lo retuvo o tome otro lote.'],
  },
  out_of_turn: {
    en: ['Another lot should be used first', 'Take the lot marked 1, or say why not.'],
    es: ['Otro lote debe usarse antes', 'Tome el lote marcado 1 o diga por qué no.'],
  },
  reclaim_over: {
    en: ['More reclaim than the powder allows', 'Add virgin powder, or use the best blend.'],
    es: ['Más recuperado de lo que admite la pintura', 'Añada pintura virgen o use la mejor mezcla.'],
  },
  passes_over: {
    en: ['Powder has gone through the gun too often', 'Blend with virgin or scrap the oldest reclaim.'],
    es: ['La pintura pasó demasiadas veces por la pistola', 'Mezcle con virgen o deseche lo más recuperado.'],
  },
  unsieved: {
    en: ['Reclaim that was not sieved', 'Sieve it before it goes back to the gun.'],
    es: ['Recuperado sin tamizar', 'Tamícelo antes de devolverlo a la pistola.'],
  },
  over_capacity: {
    en: ['More than the vessel holds', 'Check the amount; a full hopper does not fluidise well.'],
    es: ['Más de lo que cabe en el recipiente', 'Revise la cantidad; una tolva llena no fluidiza bien.'],
  },
  unknown_place: {
    en: ['An entry names a place nobody set up', 'Set the place up in the office, or wait for the entry that does.'],
    es: ['Una anotación nombra un lugar sin dar de alta', 'Dé de alta el lugar en la oficina o espere la anotación que lo hace.'],
  },
  unknown_lot: {
    en: ['An entry names a lot nobody received', 'Receive the lot, or void the entry.'],
    es: ['Una anotación nombra un lote que nadie recibió', 'Reciba el lote o anule la anotación.'],
  },
  unknown_powder: {
    en: ['An entry names a powder nobody set up', 'Set the powder up in the office.'],
    es: ['Una anotación nombra una pintura sin dar de alta', 'Dé de alta la pintura en la oficina.'],
  },
  unknown_run: {
    en: ['An entry names a run that is not there', 'Wait for the late entry, or void this one.'],
    es: ['Una anotación nombra una tanda que no existe', 'Espere la anotación tardía o anule esta.'],
  },
  unknown_booth: {
    en: ['An entry names a booth nobody set up', 'Set the booth up in the office.'],
    es: ['Una anotación nombra una cabina sin dar de alta', 'Dé de alta la cabina en la oficina.'],
  },
  unknown_entry: {
    en: ['An entry refers to another one that is not there', 'Wait for the phone that has it to send.'],
    es: ['Una anotación se refiere a otra que no está', 'Espere a que el teléfono que la tiene la envíe.'],
  },
  run_open: {
    en: ['The booth had a run still open', 'It was closed by the new one; check its last weighing.'],
    es: ['La cabina tenía una tanda abierta', 'La nueva la cerró; revise su último pesaje.'],
  },
  run_closed: {
    en: ['The run was already closed', 'Check that the entry belongs to this run.'],
    es: ['La tanda ya estaba cerrada', 'Compruebe que la anotación es de esta tanda.'],
  },
  run_not_weighed: {
    en: ['The feed was not weighed in this run', 'Weigh the feed, or the balance stays open.'],
    es: ['No se pesó la alimentación en esta tanda', 'Pese la alimentación o el balance quedará abierto.'],
  },
  loop_without_booth: {
    en: ['A closed loop without the booth’s efficiency and recovery', 'Enter both for the booth in the office.'],
    es: ['Circuito cerrado sin eficiencia ni recuperación de la cabina', 'Anote ambas para la cabina en la oficina.'],
  },
  clock_off: {
    en: ['The phone’s clock was wrong', 'Set the phone to automatic time; the entry’s time was corrected.'],
    es: ['El reloj del teléfono estaba mal', 'Ponga la hora automática; la hora de la anotación se corrigió.'],
  },
  late: {
    en: ['Came in after the books were closed', 'Check whether the closed month needs a note.'],
    es: ['Llegó tras el cierre de los libros', 'Vea si el mes cerrado necesita una nota.'],
  },
  void_closed: {
    en: ['A void of an entry in closed books', 'Record the opposite move instead.'],
    es: ['Se anuló una anotación de libros cerrados', 'Anote en su lugar el movimiento contrario.'],
  },
  newer_version: {
    en: ['Recorded by a newer version of hoppertally', 'Update this phone; nothing is lost meanwhile.'],
    es: ['Anotado con una versión más nueva de hoppertally', 'Actualice este teléfono; mientras tanto nada se pierde.'],
  },
  held: {
    en: ['Held for a manager', 'A manager accepts or declines it; it does not count until then.'],
    es: ['En espera de un encargado', 'Un encargado la acepta o rechaza; hasta entonces no cuenta.'],
  },
  refused: {
    en: ['Refused by the server', 'Record it again; the original is kept.'],
    es: ['Rechazada por el servidor', 'Anótela de nuevo; el original se conserva.'],
  },
} as const satisfies Readonly<Record<string, Row>>;

const formErrors = {
  'form.missing': { en: ['Still missing', 'Fill this in.'], es: ['Falta', 'Complete este dato.'] },
  'form.number': { en: ['Not a number', 'Digits and one decimal mark only.'], es: ['No es un número', 'Solo cifras y una coma o punto decimal.'] },
  'form.negative': { en: ['Below zero', 'Enter zero or more.'], es: ['Menor que cero', 'Escriba cero o más.'] },
  'form.range': { en: ['Outside what is possible', 'Check the figure and its unit.'], es: ['Fuera de lo posible', 'Revise la cifra y su unidad.'] },
  'form.choice': { en: ['Not one of the choices', 'Choose from the list.'], es: ['No está entre las opciones', 'Elija de la lista.'] },
  'form.too_large': { en: ['Too large', 'Check the figure and its unit.'], es: ['Demasiado grande', 'Revise la cifra y su unidad.'] },
  'form.unknown_place': { en: ['This place is not known', 'Choose a place from the list.'], es: ['Lugar desconocido', 'Elija un lugar de la lista.'] },
  'form.unknown_lot': { en: ['This lot is not known', 'Choose a lot, or receive it first.'], es: ['Lote desconocido', 'Elija un lote o recíbalo antes.'] },
  'form.unknown_powder': { en: ['This powder is not known', 'Choose a powder, or set it up first.'], es: ['Pintura desconocida', 'Elija una pintura o dela de alta antes.'] },
  'form.unknown_booth': { en: ['This booth is not known', 'Choose a booth from the list.'], es: ['Cabina desconocida', 'Elija una cabina de la lista.'] },
  'form.unknown_run': { en: ['No such run', 'Start with a colour change, which opens a run.'], es: ['No existe esa tanda', 'Empiece con un cambio de color, que abre una tanda.'] },
  'form.unknown_entry': { en: ['No such entry', 'Open it again from the list.'], es: ['No existe esa anotación', 'Ábrala de nuevo desde la lista.'] },
  'form.nothing': { en: ['Nothing to record yet', 'Enter at least one amount.'], es: ['Aún no hay nada que anotar', 'Escriba al menos una cantidad.'] },
  'form.date': { en: ['Not a day', 'Use the form 2026-03-31.'], es: ['No es una fecha', 'Use la forma 2026-03-31.'] },
  'pass.short': { en: ['Too short', 'Use at least ten characters; a few words are good.'], es: ['Demasiado corta', 'Use al menos diez caracteres; unas palabras sirven.'] },
  'pass.differs': { en: ['The two are not the same', 'Type it again.'], es: ['No coinciden', 'Escríbala otra vez.'] },
  'form.unit': { en: ['Not a unit for this', 'Use one of the units shown.'], es: ['Unidad no válida aquí', 'Use una de las unidades mostradas.'] },
  'form.ambiguous': { en: ['This can be read two ways', 'Write it without a mark for thousands.'], es: ['Se puede leer de dos maneras', 'Escríbalo sin separador de miles.'] },
  'form.task': { en: ['This task is not known', 'Update the app.'], es: ['Tarea desconocida', 'Actualice la aplicación.'] },
  'form.no_change': { en: ['No colour change is running', 'Start one first.'], es: ['No hay cambio de color en curso', 'Inicie uno antes.'] },
  'form.no_tare': { en: ['The empty weight of this vessel is not known', 'Enter the powder alone, or set the tare in the office.'], es: ['No se conoce la tara de este recipiente', 'Anote solo la pintura o fije la tara en la oficina.'] },
  'form.below_tare': { en: ['Less than the empty vessel weighs', 'Check the scale, or enter the powder alone.'], es: ['Menos que el recipiente vacío', 'Revise la báscula o anote solo la pintura.'] },
  'form.below_books': { en: ['Less than was in the bin before', 'Weigh the bin again, or enter the recovered powder alone.'], es: ['Menos de lo que había antes en el depósito', 'Pese otra vez o anote solo lo recuperado.'] },
  'form.not_voidable': { en: ['This entry cannot be voided', 'It is voided already, or your role may not.'], es: ['Esta anotación no se puede anular', 'Ya está anulada o su función no lo permite.'] },
  'form.not_held': { en: ['This entry is not held', 'Go back; it has been decided already.'], es: ['Esta anotación no está en espera', 'Vuelva; ya se decidió.'] },
  'form.may_not': { en: ['Your role may not record this', 'Ask a clerk or a manager.'], es: ['Su función no permite anotar esto', 'Pídalo a almacén o a un encargado.'] },
} as const satisfies Readonly<Record<string, Row>>;

const reasons = {
  'same.powder': { en: ['Same powder again', 'A purge is enough.'], es: ['La misma pintura', 'Basta con purgar.'] },
  'powder.unknown': { en: ['What was sprayed before is not known', 'Clean as for the worst case.'], es: ['No se sabe qué se pintó antes', 'Limpie como en el peor caso.'] },
  'chemistry.acrylic': { en: ['Acrylic against another chemistry', 'Traces make craters: clean every surface.'], es: ['Acrílica frente a otra química', 'Los restos causan cráteres: limpie toda superficie.'] },
  'chemistry.differs': { en: ['Different chemistry', 'Blow down so that nothing mixes.'], es: ['Otra química', 'Sople todo para que no se mezcle.'] },
  'chemistry.unknown': { en: ['Chemistry not known', 'Set it for the powder; until then the safe side counts.'], es: ['Química desconocida', 'Anótela en la pintura; hasta entonces vale lo más seguro.'] },
  'colour.white_black': { en: ['Between white and black', 'Every speck shows.'], es: ['Entre blanco y negro', 'Se ve cada mota.'] },
  'colour.dark_to_light': { en: ['Dark to light', 'Dark specks show on light parts.'], es: ['De oscuro a claro', 'Las motas oscuras se ven en piezas claras.'] },
  'colour.differs': { en: ['Different colour', 'The further apart, the more it shows.'], es: ['Otro color', 'Cuanto más distinto, más se nota.'] },
  'colour.unknown': { en: ['Colour not measured', 'Enter L*a*b* for the powder; until then the safe side counts.'], es: ['Color sin medir', 'Anote L*a*b* de la pintura; hasta entonces vale lo más seguro.'] },
  'finish.metallic': { en: ['Metallic flakes', 'Flakes stay behind and show.'], es: ['Partículas metálicas', 'Quedan restos y se notan.'] },
  'finish.gloss_matt': { en: ['Between gloss and matt', 'A trace changes the gloss.'], es: ['Entre brillo y mate', 'Un resto cambia el brillo.'] },
  'finish.differs': { en: ['Different finish', 'Traces disturb the film.'], es: ['Otro acabado', 'Los restos alteran la película.'] },
  'finish.unknown': { en: ['Finish not known', 'Set it for the powder; until then the safe side counts.'], es: ['Acabado desconocido', 'Anótelo en la pintura; hasta entonces vale lo más seguro.'] },
} as const satisfies Readonly<Record<string, Row>>;

const balances = {
  not_weighed: { en: ['The feed was not weighed, so what was sprayed is not known', 'Weigh the feed.'], es: ['No se pesó la alimentación: no se sabe cuánto se pulverizó', 'Pese la alimentación.'] },
  no_parts: { en: ['No parts were recorded, so nothing counts as on parts', 'Record the parts done.'], es: ['No se anotaron piezas: nada cuenta como en piezas', 'Anote las piezas hechas.'] },
  more_than_sprayed: { en: ['Parts and film ask for more powder than was sprayed', 'Check area, count, readings and weighings.'], es: ['Piezas y película suman más pintura que la pulverizada', 'Revise área, cantidad, lecturas y pesajes.'] },
  target_film: { en: ['No film readings: the target film was taken', 'Measure film on a few parts.'], es: ['Sin lecturas: se tomó la película objetivo', 'Mida la película en algunas piezas.'] },
} as const satisfies Readonly<Record<string, Row>>;

const rulings = {
  role: { en: ['The person’s role may not record this', 'A manager accepts or declines it.'], es: ['La función de la persona no permite anotarlo', 'Un encargado la acepta o rechaza.'] },
  unknown_person: { en: ['The person is not known to the shop', 'Set the person up, then accept or decline.'], es: ['El taller no conoce a esta persona', 'Dé de alta a la persona y luego decida.'] },
  person_gone: { en: ['The person has left the shop', 'A manager accepts or declines it.'], es: ['La persona ya no está en el taller', 'Un encargado la acepta o rechaza.'] },
  device_revoked: { en: ['The phone was shut out', 'A manager accepts or declines it.'], es: ['El teléfono fue excluido', 'Un encargado la acepta o rechaza.'] },
  malformed: { en: ['The entry could not be read', 'Record it again; the original is kept.'], es: ['No se pudo leer la anotación', 'Anótela de nuevo; el original se conserva.'] },
} as const satisfies Readonly<Record<string, Row>>;

const limits = {
  'limit.share': { en: ['the powder’s limit of reclaim decides', ''], es: ['decide el límite de recuperado', ''] },
  'limit.reclaim': { en: ['all the reclaim there is goes in', ''], es: ['entra todo el recuperado que hay', ''] },
  'limit.virgin': { en: ['the virgin on the shelf decides', ''], es: ['decide la virgen en estantería', ''] },
  'limit.room': { en: ['the room in the vessel decides', ''], es: ['decide el espacio del recipiente', ''] },
  'limit.fines': { en: ['the share of fines decides', ''], es: ['decide la parte de finos', ''] },
  'limit.passes': { en: ['the mean number of passes decides', ''], es: ['decide la media de pasadas', ''] },
  'limit.shelf': { en: ['the use-by days decide', ''], es: ['deciden las fechas de uso', ''] },
  'limit.stock': { en: ['all there is goes in', ''], es: ['entra todo lo que hay', ''] },
  'limit.over': { en: ['already over the limit: virgin only', ''], es: ['ya supera el límite: solo virgen', ''] },
} as const satisfies Readonly<Record<string, Row>>;

const problems = {
  no_server: { en: ['The server did not answer', 'Recording goes on; try again with network.'], es: ['El servidor no respondió', 'Puede seguir anotando; reintente con red.'] },
  bad_code: { en: ['This code does not work', 'Codes work once and for a short time: ask for a new link.'], es: ['Este código no sirve', 'Los códigos sirven una vez y por poco tiempo: pida otro enlace.'] },
  bad_passphrase: { en: ['Name and passphrase do not match', 'Check both, or ask a manager for a sign-in link.'], es: ['El nombre y la frase no coinciden', 'Revíselos o pida un enlace a un encargado.'] },
  signed_out: { en: ['You are not signed in', 'Sign in; what you recorded stays on this phone.'], es: ['No ha iniciado sesión', 'Iníciela; lo anotado sigue en este teléfono.'] },
  session_ended: { en: ['Your session has ended', 'Keep recording; sign in when you have network.'], es: ['Su sesión terminó', 'Siga anotando; inicie sesión cuando tenga red.'] },
  too_many: { en: ['Too many tries', 'Wait a minute, then try again.'], es: ['Demasiados intentos', 'Espere un minuto y reintente.'] },
  forbidden: { en: ['Your role may not do this', 'Ask a manager.'], es: ['Su función no lo permite', 'Pídalo a un encargado.'] },
  not_found: { en: ['Not found', 'Go back and choose again.'], es: ['No encontrado', 'Vuelva y elija otra vez.'] },
  storage: { en: ['NOT saved: the phone’s storage failed', 'Write it on paper, free space on the phone, try again.'], es: ['NO guardado: falló la memoria del teléfono', 'Anótelo en papel, libere espacio y reintente.'] },
  form_invalid: { en: ['Something in the form cannot stand', 'Look at the marked fields.'], es: ['Algo del formulario no es válido', 'Mire los campos marcados.'] },
  why_missing: { en: ['A reason is missing', 'Choose or write why.'], es: ['Falta un motivo', 'Elija o escriba por qué.'] },
  worker_dead: { en: ['The part that keeps the books stopped', 'Reload the page; saved entries are safe.'], es: ['Se detuvo la parte que lleva los libros', 'Recargue la página; lo guardado está a salvo.'] },
  worker_restarted: { en: ['The part that keeps the books had to restart', 'Try once more.'], es: ['La parte que lleva los libros se reinició', 'Inténtelo otra vez.'] },
  core_fault: { en: ['The books could not be worked out', 'Saved entries are safe; try again or reload.'], es: ['No se pudieron calcular los libros', 'Lo guardado está a salvo; reintente o recargue.'] },
  app_fault: { en: ['This page made a mistake', 'Reload it; saved entries are safe.'], es: ['Esta página cometió un error', 'Recárguela; lo guardado está a salvo.'] },
  no_wasm: { en: ['This browser cannot run the books', 'Turn WebAssembly on (Lockdown Mode turns it off) or use another browser.'], es: ['Este navegador no puede llevar los libros', 'Active WebAssembly (el modo de aislamiento lo apaga) o use otro.'] },
  unknown_code: { en: ['Something needs a look', 'Update the app, or show this code to whoever looks after it.'], es: ['Algo requiere atención', 'Actualice la aplicación o muestre este código a quien la atiende.'] },
} as const satisfies Readonly<Record<string, Row>>;

export const groups = { warnings, formErrors, reasons, balances, rulings, limits, problems } as const;

// codes is every group in one table; a code stands in one group only.
const table: Record<string, Readonly<Record<'en' | 'es', Advice>>> = {};
for (const group of Object.values(groups)) {
  for (const [code, row] of Object.entries<Row>(group)) {
    table[code] = { en: { says: row.en[0], next: row.en[1] }, es: { says: row.es[0], next: row.es[1] } };
  }
}
export const codes: Readonly<Record<string, Readonly<Record<'en' | 'es', Advice>> | undefined>> = table;
