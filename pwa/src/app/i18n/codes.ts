// One table of everything a code can tell a person: what it is, and what to do
// next. Codes come from the core (warnings, attention, form errors, reasons, limits,
// missing figures) and from the worker and the server (problems).

export interface Advice {
  says: string;
  next: string;
}
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
  beyond_books: {
    en: [
      'More powder than the books can hold',
      'What is beyond 9 million tonnes is not booked. Void the entry with the wrong mass.',
    ],
    es: [
      'Más pintura de la que cabe en los libros',
      'Lo que pasa de 9 millones de toneladas no se anota. Anule la anotación con la masa equivocada.',
    ],
  },
  mixed_powder: {
    en: ['Two powders in one vessel', 'Keep it off the parts; scrap it or use it where the colour does not matter.'],
    es: ['Dos pinturas en un recipiente', 'No la use en piezas; deséchela o úsela donde el color no importe.'],
  },
  uncleaned_vessel: {
    en: [
      'Another powder into a vessel that was not fully cleaned',
      'Clean the vessel in full first, or take a clean one.',
    ],
    es: [
      'Otra pintura en un recipiente sin limpieza total',
      'Haga antes la limpieza total o use un recipiente limpio.',
    ],
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
  room_warm: {
    en: [
      'The store is too warm',
      'Cool it or move the powder; a test panel tells whether it is still good. Its maker decides.',
    ],
    es: [
      'El almacén está demasiado caliente',
      'Enfríelo o mueva la pintura; un panel de prueba dirá si aún sirve. Decide su fabricante.',
    ],
  },
  room_damp: {
    en: ['The store is too damp', 'Dry the air and keep the boxes shut: damp powder clumps and charges badly.'],
    es: [
      'El almacén está demasiado húmedo',
      'Seque el aire y cierre las cajas: la pintura húmeda se apelmaza y carga mal.',
    ],
  },
  dust_limit: {
    en: [
      'More powder in the air than the limit',
      'Less powder, fewer guns or more exhaust air. Do not spray like this; local codes come first.',
    ],
    es: [
      'Más pintura en el aire que el límite',
      'Menos pintura, menos pistolas o más extracción. No pulverice así; mandan las normas locales.',
    ],
  },
  ground_bad: {
    en: [
      'The ground is not in order',
      'Do not spray. Clean hooks and contacts, check the strap, then check the ground again; local codes come first.',
    ],
    es: [
      'La tierra no está en orden',
      'No pulverice. Limpie ganchos y contactos, revise el cable y compruebe la tierra otra vez; mandan las normas locales.',
    ],
  },
  cure_under: {
    en: [
      'Too short at the cure temperature',
      'Test the film before the parts leave; slow the line or raise the oven by the powder’s data sheet.',
    ],
    es: [
      'Poco tiempo a la temperatura de curado',
      'Pruebe la película antes de entregar; más lento o más calor, según la ficha de la pintura.',
    ],
  },
  cure_over: {
    en: ['Too long at the cure temperature', 'Look at colour and gloss; shorten the stay by the powder’s data sheet.'],
    es: [
      'Demasiado tiempo a la temperatura de curado',
      'Mire color y brillo; acorte la estancia según la ficha de la pintura.',
    ],
  },
  'look.main_too_much': {
    en: ['Much main air', 'More air throws powder past the part and wears hose and nozzle.'],
    es: ['Mucho aire principal', 'Más aire lanza la pintura más allá de la pieza y gasta manguera y boquilla.'],
  },
  'look.extra_low': {
    en: ['Little extra air for this main air', 'The hose may surge; raise the extra air.'],
    es: ['Poco aire adicional para este aire principal', 'La manguera puede pulsar; suba el aire adicional.'],
  },
  'look.current_high': {
    en: ['High limit of the current', 'Corners and thick film suffer from back ionisation; lower it.'],
    es: ['Límite de corriente alto', 'Las esquinas y la película gruesa sufren ionización inversa; bájelo.'],
  },
  'look.voltage_high': {
    en: ['High voltage set', 'Check the gun’s own limit.'],
    es: ['Tensión alta', 'Revise el límite de la propia pistola.'],
  },
  over_capacity: {
    en: ['More than the vessel holds', 'Check the amount; a full hopper does not fluidise well.'],
    es: ['Más de lo que cabe en el recipiente', 'Revise la cantidad; una tolva llena no fluidiza bien.'],
  },
  unknown_place: {
    en: ['An entry names a place nobody set up', 'Set the place up in the office, or wait for the entry that does.'],
    es: [
      'Una anotación nombra un lugar sin dar de alta',
      'Dé de alta el lugar en la oficina o espere la anotación que lo hace.',
    ],
  },
  unknown_lot: {
    en: [
      'An entry names no lot, or one nobody received',
      'Receive the lot, or void the entry and record it again with its lot.',
    ],
    es: [
      'Una anotación no nombra el lote o nombra uno que nadie recibió',
      'Reciba el lote, o anule la anotación y hágala otra vez con su lote.',
    ],
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
  books_closed: {
    en: [
      'It came too late: the books are closed over that entry',
      'What was closed stays as it is. Record what is true now, for instance a weighing.',
    ],
    es: [
      'Llegó tarde: los libros ya están cerrados sobre esa anotación',
      'Lo cerrado queda como está. Anote lo que vale ahora, por ejemplo un pesaje.',
    ],
  },
  void_ahead: {
    en: [
      'Taken back before the entry itself had come',
      'It counts against your own entries; for others ask a manager.',
    ],
    es: ['Anulada antes de llegar la anotación misma', 'Vale para las propias; para las demás pida a un encargado.'],
  },
  late: {
    en: ['Came in after the books were closed', 'Check whether the closed month needs a note.'],
    es: ['Llegó tras el cierre de los libros', 'Vea si el mes cerrado necesita una nota.'],
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
  'form.number': {
    en: ['Not a number', 'Digits and one decimal mark only.'],
    es: ['No es un número', 'Solo cifras y una coma o punto decimal.'],
  },
  'form.points': {
    en: ['A line is not a minute and a temperature', 'One line each, as 10 180.'],
    es: ['Una línea no es minuto y temperatura', 'Una línea cada una, como 10 180.'],
  },
  'form.points_order': {
    en: ['A minute does not come after the one before', 'Put the lines in the order of time.'],
    es: ['Un minuto no sigue al anterior', 'Ponga las líneas en el orden del tiempo.'],
  },
  'form.points_many': {
    en: ['Too many points for one curve', 'Leave out every second line.'],
    es: ['Demasiados puntos para una curva', 'Quite una de cada dos líneas.'],
  },
  'form.last_manager': {
    en: ['The shop’s only manager', 'Make somebody else manager first.'],
    es: ['Es el único encargado del taller', 'Nombre antes a otro encargado.'],
  },
  'form.negative': { en: ['Below zero', 'Enter zero or more.'], es: ['Menor que cero', 'Escriba cero o más.'] },
  'form.range': {
    en: ['Outside what is possible', 'Check the figure and its unit.'],
    es: ['Fuera de lo posible', 'Revise la cifra y su unidad.'],
  },
  'form.choice': {
    en: ['Not one of the choices', 'Choose from the list.'],
    es: ['No está entre las opciones', 'Elija de la lista.'],
  },
  'form.zone': {
    en: ['Not a time zone', 'Use a name such as Europe/Madrid.'],
    es: ['No es una zona horaria', 'Use un nombre como Europe/Madrid.'],
  },
  'form.too_large': {
    en: ['Too large', 'Check the figure and its unit.'],
    es: ['Demasiado grande', 'Revise la cifra y su unidad.'],
  },
  'form.unknown_place': {
    en: ['This place is not known', 'Choose a place from the list.'],
    es: ['Lugar desconocido', 'Elija un lugar de la lista.'],
  },
  'form.unknown_lot': {
    en: ['This lot is not known', 'Choose a lot, or receive it first.'],
    es: ['Lote desconocido', 'Elija un lote o recíbalo antes.'],
  },
  'form.unknown_powder': {
    en: ['This powder is not known', 'Choose a powder, or set it up first.'],
    es: ['Pintura desconocida', 'Elija una pintura o dela de alta antes.'],
  },
  'form.unknown_booth': {
    en: ['This booth is not known', 'Choose a booth from the list.'],
    es: ['Cabina desconocida', 'Elija una cabina de la lista.'],
  },
  'form.unknown_run': {
    en: ['No such run', 'Start with a colour change, which opens a run.'],
    es: ['No existe esa tanda', 'Empiece con un cambio de color, que abre una tanda.'],
  },
  'form.unknown_entry': {
    en: ['No such entry', 'Open it again from the list.'],
    es: ['No existe esa anotación', 'Ábrala de nuevo desde la lista.'],
  },
  'form.nothing': {
    en: ['Nothing to record yet', 'Enter at least one amount.'],
    es: ['Aún no hay nada que anotar', 'Escriba al menos una cantidad.'],
  },
  'form.date': { en: ['Not a day', 'Use the form 2026-03-31.'], es: ['No es una fecha', 'Use la forma 2026-03-31.'] },
  'pass.short': {
    en: ['Too short', 'Use at least ten characters; a few words are good.'],
    es: ['Demasiado corta', 'Use al menos diez caracteres; unas palabras sirven.'],
  },
  'pass.differs': { en: ['The two are not the same', 'Type it again.'], es: ['No coinciden', 'Escríbala otra vez.'] },
  'form.unit': {
    en: ['Not a unit for this', 'Use one of the units shown.'],
    es: ['Unidad no válida aquí', 'Use una de las unidades mostradas.'],
  },
  'form.ambiguous': {
    en: ['This can be read two ways', 'Write it without a mark for thousands.'],
    es: ['Se puede leer de dos maneras', 'Escríbalo sin separador de miles.'],
  },
  'form.task': {
    en: ['This task is not known', 'Update the app.'],
    es: ['Tarea desconocida', 'Actualice la aplicación.'],
  },
  'form.no_change': {
    en: ['No colour change is running', 'Start one first.'],
    es: ['No hay cambio de color en curso', 'Inicie uno antes.'],
  },
  'form.no_tare': {
    en: ['The empty weight of this vessel is not known', 'Enter the powder alone, or set the tare in the office.'],
    es: ['No se conoce la tara de este recipiente', 'Anote solo la pintura o fije la tara en la oficina.'],
  },
  'form.below_tare': {
    en: ['Less than the empty vessel weighs', 'Check the scale, or enter the powder alone.'],
    es: ['Menos que el recipiente vacío', 'Revise la báscula o anote solo la pintura.'],
  },
  'form.below_books': {
    en: ['Less than was in the bin before', 'Weigh the bin again, or enter the recovered powder alone.'],
    es: ['Menos de lo que había antes en el depósito', 'Pese otra vez o anote solo lo recuperado.'],
  },
  'form.books_closed': {
    en: [
      'The books are closed over this entry',
      'What was closed stays as it is. Record what is true now, for instance a weighing.',
    ],
    es: [
      'Los libros están cerrados sobre esta anotación',
      'Lo cerrado queda como está. Anote lo que vale ahora, por ejemplo un pesaje.',
    ],
  },
  'form.not_voidable': {
    en: ['This entry cannot be voided', 'It is voided already, or your role may not.'],
    es: ['Esta anotación no se puede anular', 'Ya está anulada o su función no lo permite.'],
  },
  'form.not_held': {
    en: ['This entry is not held', 'Go back; it has been decided already.'],
    es: ['Esta anotación no está en espera', 'Vuelva; ya se decidió.'],
  },
  'form.may_not': {
    en: ['Your role may not record this', 'Ask a clerk or a manager.'],
    es: ['Su función no permite anotar esto', 'Pídalo a almacén o a un encargado.'],
  },
} as const satisfies Readonly<Record<string, Row>>;

const reasons = {
  'same.powder': { en: ['Same powder again', 'A purge is enough.'], es: ['La misma pintura', 'Basta con purgar.'] },
  'powder.unknown': {
    en: ['What was sprayed before is not known', 'Clean as for the worst case.'],
    es: ['No se sabe qué se pintó antes', 'Limpie como en el peor caso.'],
  },
  'chemistry.acrylic': {
    en: ['Acrylic against another chemistry', 'Traces make craters: clean every surface.'],
    es: ['Acrílica frente a otra química', 'Los restos causan cráteres: limpie toda superficie.'],
  },
  'chemistry.differs': {
    en: ['Different chemistry', 'Blow down so that nothing mixes.'],
    es: ['Otra química', 'Sople todo para que no se mezcle.'],
  },
  'chemistry.unknown': {
    en: ['Chemistry not known', 'Set it for the powder; until then the safe side counts.'],
    es: ['Química desconocida', 'Anótela en la pintura; hasta entonces vale lo más seguro.'],
  },
  'colour.white_black': {
    en: ['Between white and black', 'Every speck shows.'],
    es: ['Entre blanco y negro', 'Se ve cada mota.'],
  },
  'colour.dark_to_light': {
    en: ['Dark to light', 'Dark specks show on light parts.'],
    es: ['De oscuro a claro', 'Las motas oscuras se ven en piezas claras.'],
  },
  'colour.differs': {
    en: ['Different colour', 'The further apart, the more it shows.'],
    es: ['Otro color', 'Cuanto más distinto, más se nota.'],
  },
  'colour.unknown': {
    en: ['Colour not measured', 'Enter L*a*b* for the powder; until then the safe side counts.'],
    es: ['Color sin medir', 'Anote L*a*b* de la pintura; hasta entonces vale lo más seguro.'],
  },
  'finish.metallic': {
    en: ['Metallic flakes', 'Flakes stay behind and show.'],
    es: ['Partículas metálicas', 'Quedan restos y se notan.'],
  },
  'finish.gloss_matt': {
    en: ['Between gloss and matt', 'A trace changes the gloss.'],
    es: ['Entre brillo y mate', 'Un resto cambia el brillo.'],
  },
  'finish.differs': {
    en: ['Different finish', 'Traces disturb the film.'],
    es: ['Otro acabado', 'Los restos alteran la película.'],
  },
  'finish.unknown': {
    en: ['Finish not known', 'Set it for the powder; until then the safe side counts.'],
    es: ['Acabado desconocido', 'Anótelo en la pintura; hasta entonces vale lo más seguro.'],
  },
} as const satisfies Readonly<Record<string, Row>>;

const balances = {
  not_weighed: {
    en: ['The feed was not weighed, so what was sprayed is not known', 'Weigh the feed.'],
    es: ['No se pesó la alimentación: no se sabe cuánto se pulverizó', 'Pese la alimentación.'],
  },
  no_parts: {
    en: ['No parts were recorded, so nothing counts as on parts', 'Record the parts done.'],
    es: ['No se anotaron piezas: nada cuenta como en piezas', 'Anote las piezas hechas.'],
  },
  more_than_sprayed: {
    en: ['Parts and film ask for more powder than was sprayed', 'Check area, count, readings and weighings.'],
    es: ['Piezas y película suman más pintura que la pulverizada', 'Revise área, cantidad, lecturas y pesajes.'],
  },
  target_film: {
    en: ['No film readings: the target film was taken', 'Measure film on a few parts.'],
    es: ['Sin lecturas: se tomó la película objetivo', 'Mida la película en algunas piezas.'],
  },
} as const satisfies Readonly<Record<string, Row>>;

const rulings = {
  role: {
    en: ['The person’s role may not record this', 'A manager accepts or declines it.'],
    es: ['La función de la persona no permite anotarlo', 'Un encargado la acepta o rechaza.'],
  },
  unknown_person: {
    en: ['The person is not known to the shop', 'Set the person up, then accept or decline.'],
    es: ['El taller no conoce a esta persona', 'Dé de alta a la persona y luego decida.'],
  },
  person_gone: {
    en: ['The person has left the shop', 'A manager accepts or declines it.'],
    es: ['La persona ya no está en el taller', 'Un encargado la acepta o rechaza.'],
  },
  device_revoked: {
    en: ['The phone was shut out', 'A manager accepts or declines it.'],
    es: ['El teléfono fue excluido', 'Un encargado la acepta o rechaza.'],
  },
  last_manager: {
    en: ['The shop would have no manager', 'Make somebody else manager, then accept it.'],
    es: ['El taller se quedaría sin encargado', 'Nombre antes a otro encargado y luego acéptela.'],
  },
  ruled_ahead: {
    en: [
      'Decided before the entry itself had come',
      'Look at that entry: if it makes somebody a member or changes a role, decide again.',
    ],
    es: [
      'Se decidió antes de llegar la anotación misma',
      'Mire esa anotación: si da de alta a alguien o cambia una función, decida otra vez.',
    ],
  },
  'entry.id_reused': {
    en: ['The same id came with other contents', 'Record it again.'],
    es: ['La misma clave llegó con otro contenido', 'Anótela de nuevo.'],
  },
  'entry.not_yours': {
    en: ['Recorded by somebody else than was signed in', 'The one who recorded it signs in and sends.'],
    es: ['La anotó otra persona que la sesión', 'Quien la anotó debe iniciar sesión y enviar.'],
  },
  'entry.other_author': {
    en: ['Recorded under another name', 'A manager accepts or declines it.'],
    es: ['Anotada con otro nombre', 'Un encargado la acepta o rechaza.'],
  },
  'entry.handed_in': {
    en: ['Handed in by a manager for somebody else', 'A manager accepts or declines it.'],
    es: ['Entregada por un encargado en nombre de otra persona', 'Un encargado la acepta o la rechaza.'],
  },
  'entry.counter_gap': {
    en: ['Entries of this phone seem to lack', 'Open the phone that recorded them and let it send.'],
    es: ['Parecen faltar anotaciones de este teléfono', 'Abra el teléfono que las hizo y deje que envíe.'],
  },
  'entry.counter_reused': {
    en: ['The phone counted one number twice', 'Check both entries.'],
    es: ['El teléfono usó dos veces un número', 'Revise las dos anotaciones.'],
  },
  'entry.field': {
    en: ['A field of the entry cannot stand', 'Record it again.'],
    es: ['Un dato de la anotación no es válido', 'Anótela de nuevo.'],
  },
  'entry.missing_field': {
    en: ['A field of the entry is missing', 'Record it again.'],
    es: ['Falta un dato de la anotación', 'Anótela de nuevo.'],
  },
  'entry.unknown_field': {
    en: ['The entry has a field nobody knows', 'Update the app and record it again.'],
    es: ['La anotación trae un dato desconocido', 'Actualice la aplicación y anótela de nuevo.'],
  },
  'entry.syntax': {
    en: ['The entry cannot be read', 'Record it again; the original is kept.'],
    es: ['La anotación no se puede leer', 'Anótela de nuevo; el original se conserva.'],
  },
  'entry.too_deep': {
    en: ['The entry is nested too deep', 'Record it again.'],
    es: ['La anotación es demasiado compleja', 'Anótela de nuevo.'],
  },
  'entry.too_large': {
    en: ['The entry is too large', 'Shorten the text and record it again.'],
    es: ['La anotación es demasiado grande', 'Acorte el texto y anótela de nuevo.'],
  },
  'entry.twice': {
    en: ['A field stands twice in the entry', 'Record it again.'],
    es: ['Un dato aparece dos veces', 'Anótela de nuevo.'],
  },
  'entry.newer': {
    en: ['Needs a newer version', 'Update this phone; nothing is lost meanwhile.'],
    es: ['Requiere una versión más nueva', 'Actualice este teléfono; nada se pierde.'],
  },
  'clock.wrong': {
    en: ['The phone’s clock was wrong by minutes', 'The entry’s time was corrected. Set the phone to automatic time.'],
    es: [
      'El reloj del teléfono estaba mal por minutos',
      'La hora de la anotación se corrigió. Ponga la hora automática.',
    ],
  },
  malformed: {
    en: ['The entry could not be read', 'Record it again; the original is kept.'],
    es: ['No se pudo leer la anotación', 'Anótela de nuevo; el original se conserva.'],
  },
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
  older_unsent: {
    en: ['Entries of this phone are not sent yet', 'Older ones show once they are sent.'],
    es: ['Este teléfono tiene anotaciones sin enviar', 'Las anteriores se ven cuando se envíen.'],
  },
  no_server: {
    en: ['The server did not answer', 'Recording goes on; try again with network.'],
    es: ['El servidor no respondió', 'Puede seguir anotando; reintente con red.'],
  },
  'auth.none': {
    en: ['You are not signed in', 'Sign in; what you recorded stays on this phone.'],
    es: ['No ha iniciado sesión', 'Iníciela; lo anotado sigue en este teléfono.'],
  },
  'auth.token': {
    en: ['The server does not know this sign-in', 'Sign in again; nothing is lost.'],
    es: ['El servidor no reconoce esta sesión', 'Inicie sesión de nuevo; nada se pierde.'],
  },
  'auth.expired': {
    en: ['The sign-in has run out', 'Sign in again; nothing is lost.'],
    es: ['La sesión caducó', 'Inicie sesión de nuevo; nada se pierde.'],
  },
  'auth.ended': {
    en: ['Your session has ended', 'Keep recording; sign in when you have network.'],
    es: ['Su sesión terminó', 'Siga anotando; inicie sesión cuando tenga red.'],
  },
  'auth.wrong': {
    en: ['Name and passphrase do not match', 'Check both, or ask a manager for a sign-in link.'],
    es: ['El nombre y la frase no coinciden', 'Revíselos o pida un enlace a un encargado.'],
  },
  'auth.code': {
    en: ['This code does not work', 'Codes work once and for a short time: ask for a new link.'],
    es: ['Este código no sirve', 'Los códigos sirven una vez y por poco tiempo: pida otro enlace.'],
  },
  'auth.gone': {
    en: ['You no longer work in this shop', 'Ask a manager if that is not so.'],
    es: ['Ya no trabaja en este taller', 'Si no es así, hable con un encargado.'],
  },
  'auth.slow': {
    en: ['Too many wrong tries', 'Wait a minute, or ask a manager for a sign-in link.'],
    es: ['Demasiados intentos fallidos', 'Espere un minuto o pida un enlace a un encargado.'],
  },
  'auth.passphrase': {
    en: ['The passphrase is too short or too long', 'Use ten characters or more; a few words are good.'],
    es: ['La frase es demasiado corta o larga', 'Use diez caracteres o más; unas palabras sirven.'],
  },
  'setup.done': {
    en: ['The shop is set up already', 'Sign in, or ask the manager for a link.'],
    es: ['El taller ya está configurado', 'Entre, o pida un enlace al encargado.'],
  },
  'setup.code': {
    en: ['That is not the code in the server’s window', 'Open the link shown there.'],
    es: ['No es el código de la ventana del servidor', 'Abra el enlace que muestra.'],
  },
  'people.unknown': {
    en: ['The server does not know this person yet', 'Wait until everything is sent, then try again.'],
    es: ['El servidor aún no conoce a esta persona', 'Espere a que todo se envíe y reintente.'],
  },
  'people.session': {
    en: ['That session is over already', 'Nothing more to do.'],
    es: ['Esa sesión ya terminó', 'No hay nada más que hacer.'],
  },
  'auth.old': {
    en: ['That is not your passphrase until now', 'Try again, or ask a manager for a sign-in link.'],
    es: ['Esa no es su frase actual', 'Reintente o pida un enlace a un encargado.'],
  },
  'phone.unknown': {
    en: ['The server does not know that phone', 'Sign in on it first.'],
    es: ['El servidor no conoce ese teléfono', 'Inicie sesión en él primero.'],
  },
  'phone.name': {
    en: ['The name of the phone is too long', 'Use 40 characters or fewer.'],
    es: ['El nombre del teléfono es demasiado largo', 'Use 40 caracteres o menos.'],
  },
  'phone.revoked': {
    en: ['A manager shut this phone out', 'Keep recording; what you send waits for a manager.'],
    es: ['Un encargado excluyó este teléfono', 'Siga anotando; lo enviado espera a un encargado.'],
  },
  'phone.taken': {
    en: [
      'The server takes this phone for another one',
      'Recording goes on. A manager shuts this phone out in the list of phones, lets it back in and signs in here first.',
    ],
    es: [
      'El servidor toma este teléfono por otro',
      'Puede seguir anotando. Un encargado lo excluye en la lista de teléfonos, lo admite de nuevo y entra aquí primero.',
    ],
  },
  'scope.denied': {
    en: ['Your role may not see prices', 'Nothing to do: the books come without them.'],
    es: ['Su función no puede ver precios', 'No hay nada que hacer: los libros llegan sin ellos.'],
  },
  'role.may_not': {
    en: ['Your role may not do this', 'Ask a manager.'],
    es: ['Su función no lo permite', 'Pídalo a un encargado.'],
  },
  'request.body': {
    en: ['The server did not understand', 'Update the app and try again.'],
    es: ['El servidor no entendió', 'Actualice la aplicación y reintente.'],
  },
  'request.encoding': {
    en: ['The server cannot unpack this', 'Update the app and try again.'],
    es: ['El servidor no puede abrir esto', 'Actualice la aplicación y reintente.'],
  },
  'request.field': {
    en: ['A field cannot stand as it is', 'Check what you typed.'],
    es: ['Un dato no es válido', 'Revise lo escrito.'],
  },
  'request.too_large': {
    en: ['Too much at once for the server', 'Try again; it is sent in parts.'],
    es: ['Demasiado de una vez para el servidor', 'Reintente; se envía por partes.'],
  },
  'request.too_many': {
    en: ['Too many entries at once', 'Try again; they are sent in parts.'],
    es: ['Demasiadas anotaciones de una vez', 'Reintente; se envían por partes.'],
  },
  'request.header': {
    en: ['Too much came with the question', 'Sign out and in again.'],
    es: ['Llegaron demasiados datos con la petición', 'Cierre sesión y vuelva a entrar.'],
  },
  'request.slow': {
    en: ['The network was too slow', 'Try again where the signal is better.'],
    es: ['La red fue demasiado lenta', 'Reintente con mejor señal.'],
  },
  'request.method': {
    en: ['The server does not do it this way', 'Update the app.'],
    es: ['El servidor no lo hace así', 'Actualice la aplicación.'],
  },
  'request.unknown': {
    en: ['The server has no such address', 'Update the app.'],
    es: ['El servidor no tiene esa dirección', 'Actualice la aplicación.'],
  },
  'request.host': {
    en: ['The server does not go by this address', 'Open the app at the address of your invitation.'],
    es: ['El servidor no usa esta dirección', 'Abra la aplicación en la dirección de su invitación.'],
  },
  'request.cross_site': {
    en: ['Another site tried to send something here', 'Open the app at its own address.'],
    es: ['Otro sitio intentó enviar algo aquí', 'Abra la aplicación en su propia dirección.'],
  },
  'request.rate': {
    en: ['Too many requests from this phone', 'It goes on by itself in a moment.'],
    es: ['Demasiadas peticiones de este teléfono', 'Sigue solo en un momento.'],
  },
  'request.bad': {
    en: ['The question made no sense to the server', 'Update the app and try again.'],
    es: ['El servidor no entendió la petición', 'Actualice la aplicación y reintente.'],
  },
  'sync.epoch': {
    en: ['The server began a new log', 'This phone fetches it by itself; keep recording.'],
    es: ['El servidor empezó un registro nuevo', 'El teléfono lo pide solo; siga anotando.'],
  },
  'sync.cursor': {
    en: ['This phone is ahead of the server', 'It catches up by itself; keep recording.'],
    es: ['Este teléfono va por delante del servidor', 'Se pone al día solo; siga anotando.'],
  },
  'snapshot.none': {
    en: ['Nothing was recorded in this shop yet', 'Record the first entry.'],
    es: ['Aún no hay nada anotado en este taller', 'Anote lo primero.'],
  },
  'snapshot.gone': {
    en: ['The server has a newer summary', 'The phone fetches it by itself.'],
    es: ['El servidor tiene un resumen más nuevo', 'El teléfono lo busca solo.'],
  },
  'calc.unknown': {
    en: ['This calculation is not known', 'Go back and choose again.'],
    es: ['Cálculo desconocido', 'Vuelva y elija otra vez.'],
  },
  'calc.input': {
    en: ['These inputs cannot stand together', 'Check the figures against each other.'],
    es: ['Estos datos no encajan entre sí', 'Compare las cifras.'],
  },
  'field.missing': {
    en: ['Something is missing', 'Fill in the field named below.'],
    es: ['Falta un dato', 'Complete el campo nombrado abajo.'],
  },
  'field.type': {
    en: ['A value has the wrong form', 'Check the field named below.'],
    es: ['Un valor tiene otra forma', 'Revise el campo nombrado abajo.'],
  },
  'field.range': {
    en: ['A value is outside its range', 'Check the field named below.'],
    es: ['Un valor está fuera de rango', 'Revise el campo nombrado abajo.'],
  },
  'field.unknown': {
    en: ['A field is not known here', 'Update the app.'],
    es: ['Un campo no se conoce aquí', 'Actualice la aplicación.'],
  },
  'field.syntax': { en: ['This could not be read', 'Type it again.'], es: ['No se pudo leer', 'Escríbalo otra vez.'] },
  'export.unknown': {
    en: ['There is nothing of that name to export', 'Choose from the list.'],
    es: ['No hay nada con ese nombre que exportar', 'Elija de la lista.'],
  },
  'export.format': {
    en: ['Not to be had in this format', 'Choose another format.'],
    es: ['No existe en este formato', 'Elija otro formato.'],
  },
  'thing.unknown': {
    en: ['There is no such thing in the books', 'Go back and choose again.'],
    es: ['No está en los libros', 'Vuelva y elija otra vez.'],
  },
  'view.unknown': {
    en: ['This view is not known', 'Update the app.'],
    es: ['Vista desconocida', 'Actualice la aplicación.'],
  },
  'text.kind': {
    en: ['This figure cannot be printed', 'Update the app.'],
    es: ['No se puede mostrar esta cifra', 'Actualice la aplicación.'],
  },
  'metrics.denied': {
    en: ['This is for the server’s own machine', 'Ask whoever looks after the server.'],
    es: ['Esto es solo para el equipo del servidor', 'Consulte a quien cuida el servidor.'],
  },
  'server.busy': {
    en: ['The server is busy', 'Keep recording; it is sent in a while.'],
    es: ['El servidor está ocupado', 'Siga anotando; se envía en un rato.'],
  },
  'server.full': {
    en: ['The server’s disk is full', 'Keep recording; tell whoever looks after the server.'],
    es: ['El disco del servidor está lleno', 'Siga anotando; avise a quien cuida el servidor.'],
  },
  'server.internal': {
    en: ['The server failed', 'Keep recording; try again in a while.'],
    es: ['Falló el servidor', 'Siga anotando; reintente en un rato.'],
  },
  not_signed_in: {
    en: ['Nobody is signed in on this phone', 'Sign in, then save again; the form is kept.'],
    es: ['Nadie ha iniciado sesión en este teléfono', 'Inicie sesión y guarde otra vez; el formulario se conserva.'],
  },
  not_saved: {
    en: ['NOT saved: the phone could not store it', 'Write it on paper, free space on the phone, try again.'],
    es: ['NO guardado: el teléfono no pudo guardarlo', 'Anótelo en papel, libere espacio y reintente.'],
  },
  storage: {
    en: [
      'The phone’s storage fails: nothing is saved',
      'Free space or leave private browsing; write on paper meanwhile.',
    ],
    es: ['Falla la memoria del teléfono: nada se guarda', 'Libere espacio o salga del modo privado; anote en papel.'],
  },
  window_holds: {
    en: [
      'Another window holds this phone’s books',
      'Close the other windows of this app; this one then goes on by itself. Nothing can be saved until then.',
    ],
    es: [
      'Otra ventana retiene los libros de este teléfono',
      'Cierre las otras ventanas de esta aplicación; esta seguirá sola. Hasta entonces no se guarda nada.',
    ],
  },
  overdue: {
    en: [
      'Entries have waited here for hours',
      'Take the phone to where it has the network and keep this page open until all is sent. If that cannot be, copy them to a file.',
    ],
    es: [
      'Hay anotaciones que esperan aquí desde hace horas',
      'Lleve el teléfono adonde haya red y deje esta página abierta hasta que todo se envíe. Si no puede ser, cópielas a un archivo.',
    ],
  },
  update_failed: {
    en: [
      'The new version could not be loaded whole',
      'Recording goes on with this one. Tell whoever looks after the server; a filter in the network may stop a file.',
    ],
    es: [
      'La versión nueva no se pudo cargar entera',
      'Puede seguir anotando con esta. Avise a quien cuida el servidor; un filtro de la red puede detener un archivo.',
    ],
  },
  needs_reason: {
    en: ['A reason is missing', 'Choose or write why.'],
    es: ['Falta un motivo', 'Elija o escriba por qué.'],
  },
  core_broken: {
    en: ['The books stopped too often', 'Reload the page; saved entries are safe.'],
    es: ['Los libros se detuvieron demasiadas veces', 'Recargue la página; lo guardado está a salvo.'],
  },
  internal: {
    en: ['Something went wrong inside', 'Reload the page; saved entries are safe.'],
    es: ['Algo falló por dentro', 'Recargue la página; lo guardado está a salvo.'],
  },
  worker_dead: {
    en: ['The part that keeps the books stopped', 'Reload the page; saved entries are safe.'],
    es: ['Se detuvo la parte que lleva los libros', 'Recargue la página; lo guardado está a salvo.'],
  },
  worker_restarted: {
    en: ['The part that keeps the books had to restart', 'Try once more.'],
    es: ['La parte que lleva los libros se reinició', 'Inténtelo otra vez.'],
  },
  app_fault: {
    en: ['This page made a mistake', 'Reload it; saved entries are safe.'],
    es: ['Esta página cometió un error', 'Recárguela; lo guardado está a salvo.'],
  },
  no_wasm: {
    en: [
      'This browser cannot run the books',
      'Turn WebAssembly on (Lockdown Mode turns it off) or use another browser.',
    ],
    es: [
      'Este navegador no puede llevar los libros',
      'Active WebAssembly (el modo de aislamiento lo apaga) o use otro.',
    ],
  },
  unknown_code: {
    en: ['Something needs a look', 'Update the app, or show this code to whoever looks after it.'],
    es: ['Algo requiere atención', 'Actualice la aplicación o muestre este código a quien la atiende.'],
  },
} as const satisfies Readonly<Record<string, Row>>;

// Who holds a phone that several people share.
const seats = {
  seats_full: {
    en: ['Too many people are signed in on this phone', 'Somebody who no longer uses it signs out first.'],
    es: ['Hay demasiadas personas en este teléfono', 'Que cierre sesión alguien que ya no lo usa.'],
  },
  seat_none: {
    en: ['This person is not signed in on this phone', 'Sign in here once, with network.'],
    es: ['Esta persona no ha entrado en este teléfono', 'Entre aquí una vez, con red.'],
  },
  pin_none: {
    en: ['No PIN on this phone yet', 'Sign in by passphrase, then choose a PIN.'],
    es: ['Aún no hay PIN en este teléfono', 'Entre con la frase y elija un PIN.'],
  },
  pin_manager: {
    en: ['A manager has no PIN', 'Sign in by passphrase, or by a link.'],
    es: ['Un encargado no tiene PIN', 'Entre con la frase o con un enlace.'],
  },
  pin_wait: {
    en: ['Too many wrong tries', 'Wait, or sign in by passphrase. Whoever has the phone goes on recording.'],
    es: ['Demasiados intentos fallidos', 'Espere o entre con la frase. Quien tiene el teléfono sigue anotando.'],
  },
  holder_changed: {
    en: [
      'Somebody else has the phone now',
      'Nothing was recorded. Whoever filled this in changes over and opens it again; it is kept as begun.',
    ],
    es: [
      'Ahora otra persona tiene el teléfono',
      'No se anotó nada. Quien lo rellenó toma el teléfono y lo abre de nuevo; sigue como estaba.',
    ],
  },
  pin_wrong: {
    en: ['That is not the PIN', 'Try again, or sign in by passphrase.'],
    es: ['Ese no es el PIN', 'Inténtelo otra vez o entre con la frase.'],
  },
  pin_form: {
    en: ['A PIN has four to six digits', 'Type digits only.'],
    es: ['El PIN tiene de cuatro a seis cifras', 'Escriba solo cifras.'],
  },
  pin_differs: {
    en: ['The two are not the same', 'Type the new PIN once more.'],
    es: ['No coinciden', 'Escriba otra vez el PIN nuevo.'],
  },
} as const satisfies Readonly<Record<string, Row>>;

export const groups = { warnings, formErrors, reasons, balances, rulings, limits, problems, seats } as const;

// codes is every group in one table; a code stands in one group only.
const table: Record<string, Readonly<Record<'en' | 'es', Advice>>> = {};
for (const group of Object.values(groups)) {
  for (const [code, row] of Object.entries<Row>(group)) {
    table[code] = { en: { says: row.en[0], next: row.en[1] }, es: { says: row.es[0], next: row.es[1] } };
  }
}
export const codes: Readonly<Record<string, Readonly<Record<'en' | 'es', Advice>> | undefined>> = table;
