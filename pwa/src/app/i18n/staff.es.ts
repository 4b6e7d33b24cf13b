// Spanish words about people, their phones and the first days of a shop.

import { plural } from './plural';
import type { staff as english } from './staff.en';

const entries = (n: number) => `${n} ${plural('es', n, 'anotación', 'anotaciones')}`;

export const staff: typeof english = {
  who: '¿Quién tiene el teléfono?', has: (name) => `${name} tiene el teléfono`, nobodyHas: 'Ahora nadie tiene el teléfono', hasPhone: 'lo tiene', change: (name) => `${name} tiene el teléfono. Cambiar`,
  protects: 'Qué protege el PIN', whoHint: 'Los nombres: cada anotación sale a nombre de quien tiene el teléfono. No bloquea el teléfono: quien lo tiene en la mano puede usarlo. Un teléfono perdido lo excluye un encargado.',
  several: 'Un teléfono que usan varias personas no guarda la sesión de ningún encargado. Un encargado entra solo por un rato, con su frase o un enlace: hasta que otra persona tome el teléfono, pasen diez minutos sin tocarlo o se cierre la aplicación. Lo anotado se queda y se envía.',
  moment: 'por un rato', momentOf: (name) => `${name} ha entrado por un rato: hasta que otra persona tome el teléfono, pasen diez minutos sin tocarlo o se cierre la aplicación.`, givesWay: (name) => `Cuando otra persona entre aquí, se cierra la sesión de ${name}: un teléfono que usan varias personas no guarda la sesión de ningún encargado.`,
  noManagersPin: 'Un encargado no tiene PIN: cuatro cifras no protegen una sesión. En un teléfono que usan varias personas, entre con su frase o un enlace.',
  takeOff: 'Quitar de este teléfono', takeOffAsk: (name) => `Se cierra aquí la sesión de ${name}; para volver necesita red y su frase. Lo que aún no se ha enviado espera en este teléfono.`, takeOffGo: 'Quitar', tookOff: (name) => `${name} ya no está en este teléfono`,
  another: 'Entra otra persona', mustSignIn: 'debe entrar de nuevo', noPin: 'sin PIN aquí', pinOf: (name) => `PIN de ${name}`, byPassphrase: 'Con la frase de paso',
  pinFirst: 'No tiene PIN en este teléfono. Sin él, necesita red y su frase para volver a tomarlo.',
  choosePin: 'Elegir mi PIN', changePin: 'Cambiar mi PIN', myPassphrase: 'Mi frase de paso', pinTitle: 'Mi PIN en este teléfono',
  pinWhat: 'De cuatro a seis cifras, solo para este teléfono. Con ellas vuelve sin red, y cada anotación queda a nombre de quien la hizo. No bloquean el teléfono. No use el PIN de su tarjeta.',
  pinNew: 'PIN nuevo', pinAgain: 'El mismo otra vez', pinOld: 'Su PIN hasta ahora', pinSet: 'El PIN queda en este teléfono',
  waitTitle: 'Esperan en este teléfono', waits: (n, name) => `${entries(n)} de ${name} aún no se ${plural('es', n, 'puede', 'pueden')} enviar.`, waitsNext: (name) => `Están a salvo aquí y salen cuando ${name} entre; nadie más espera.`,
  signsIn: (name) => `Entra ${name}`, handIn: 'Entregar como retenidas', handInHint: 'Para quien ya no está: el servidor las guarda retenidas hasta que un encargado acepte o rechace cada una.', handedIn: (name) => `Se entrega lo que dejó ${name}`,
  record: 'Entradas', recordUnder: 'Entradas, rechazos, cambios de personas y teléfonos; lo último primero', noRecord: 'Aún no pasó nada.', recordBy: (name) => `por ${name}`,
  recordWhat: {
    setup: 'Taller dado de alta', signed_in: 'Entró', refused: 'Entrada rechazada', invited: 'Enlace creado', ended: 'Sesión cerrada', token_reused: 'Volvió una clave de sesión ya usada: se cerró su sesión', passphrase: 'Frase de acceso nueva', person_set: 'Persona cambiada',
    phone_revoked: 'Teléfono excluido', phone_restored: 'Teléfono readmitido', phone_named: 'Teléfono con otro nombre',
  },
  endings: { one: 'en un teléfono', all: 'en todos los teléfonos', shared: 'otra persona usa el teléfono' },
  phone: (n) => `Teléfono ${n}`, phones: 'Teléfonos', phonesUnder: 'Quién los usa y qué dijeron en su último contacto', noPhones: 'Aún no hay teléfonos.', thisPhone: 'este teléfono',
  kinds: { phone: 'Teléfono', tablet: 'Tableta', computer: 'Ordenador' },
  lastContact: 'Último contacto', unsentThen: 'Sin enviar entonces', notTold: 'no lo dijo', stuck: (file) => `No pudo cargar entera la versión nueva: ${file}. Un filtro de su red puede detener ese archivo.`, clock: 'Reloj', clocks: { right: 'bien', off: 'algo desviado', wrong: 'MAL', unknown: 'no se sabe' },
  seen: (when) => `último contacto ${when}`, nobodyOn: 'Nadie ha entrado en él.', out: 'sin sesión', rename: 'Cambiar nombre', renamed: 'Nombre cambiado', nameOf: 'Nombre del teléfono', nameHint: 'Como el sitio donde está: Cabina 1, Almacén.', keepName: 'Guardar nombre',
  shut: 'Excluir este teléfono', shutGo: 'Excluirlo', shutAsk: (name) => `${name} ya no recibe nada del servidor. Quien lo tenga puede seguir anotando; lo que entregue queda retenido para que usted lo acepte o rechace. Para un teléfono perdido o vendido.`,
  shutSelfAsk: 'Es el teléfono que tiene en la mano. Ya no recibirá nada del servidor, y lo que anote quedará retenido.', isShut: (name) => `${name} está excluido`, shutOut: (when) => `excluido ${when}`,
  shutOutHint: 'Lo que entrega queda retenido. Solo un encargado puede entrar en él.', letBackIn: 'Admitirlo de nuevo', letIn: (name) => `${name} puede sincronizar otra vez`,
  role: 'Función', changeRole: 'Cambiar nombre o función', roleNotes: { coater: 'Trabaja en las cabinas: cambios de color, pesadas, pintura que entra y sale, espesores, limpieza. No ve precios.', clerk: 'Trabaja también en el almacén: recibe lotes, los retiene y libera, da de alta lugares.', manager: 'Puede hacerlo todo: personas, teléfonos, pinturas, cabinas, precios, anotaciones retenidas.' },
  wayIn: 'Cómo entra', inviteWhat: (name) => `Un enlace con el que ${name} entra una vez. Después elige su propia frase de paso. También sirve si la olvidó.`, inviteAgain: 'Otro enlace', qrLabel: (name) => `Código de entrada de ${name}, para leer con la cámara de su teléfono`,
  localLink: 'Este enlace solo sirve en este ordenador. Abra el taller con la dirección que usan los teléfonos y haga allí el enlace.',
  signedInOn: 'Ha entrado en', nowhere: 'Ahora en ningún teléfono.', signOutAll: 'Cerrar todas las sesiones', signOutGo: 'Cerrar sesiones', signOutAsk: (name) => `${name} tendrá que entrar de nuevo en cada teléfono. Lo que se anote mientras tanto espera allí y nada se pierde.`,
  signOutSelfAsk: 'Tendrá que entrar de nuevo en cada teléfono, también en este. Nada se pierde.', signedOut: (name) => `Sesiones de ${name} cerradas`,
  passTitle: 'Mi frase de paso', passFirst: 'Elija su propia frase de paso. Con ella y su nombre entra en cualquier teléfono.', passChange: 'Elija otra frase de paso. Vale desde ahora en todos los teléfonos.', passOld: 'Frase hasta ahora', passNew: 'Frase nueva', passGo: 'Guardarla', passSet: 'Su frase queda guardada',
  shutStrip: 'Teléfono excluido: se retiene lo anotado', waitStrip: (n) => `${n} ${plural('es', n, 'espera', 'esperan')} que alguien entre`, backTo: '¿Quién tiene el teléfono?',
  firstTitle: 'Primeros pasos', firstLead: 'Cuatro pasos y se puede empezar. Todo se puede cambiar después.', firstReady: 'Listo. Reciba la primera pintura, cargue una tolva y empiece.', firstReceive: 'Recibir el primer lote', firstBooth: 'A la cabina', soFar: (n) => (n === 0 ? 'ninguno aún' : `${n} hasta ahora`),
  steps: {
    powders: { title: 'Pinturas', why: 'Color, química, acabado y espesor, según la ficha técnica.', add: 'Añadir pintura' }, booths: { title: 'Cabinas', why: 'Donde se aplica la pintura.', add: 'Añadir cabina' },
    places: { title: 'Lugares', why: 'Una estantería para cajas, una tolva en cada cabina; un depósito de recuperado y un bidón de desecho si los hay.', add: 'Añadir lugar' }, people: { title: 'Personas', why: 'Cada una entra con su nombre, por un enlace o un código en pantalla.', add: 'Añadir persona' },
  },
  heldTitle: 'Retenidas, para un encargado', heldMine: 'Espera a que un encargado la acepte o la rechace.',
};
