package https

// step is one thing to do on a phone: what, where in its settings, and what to know.
type step struct {
	Do   string
	Path []string
	Note string
}

// words of the page of trust in one language.
type words struct {
	Title, OtherName, Lead, Already string
	GetProfile, GetRoot             string
	IPhone, Android                 []step // the download stands in the second
	Compare, CompareHow             string
	NameIs, EndsOn                  string
	Then, ThenHow, Open, Code       string
	May                             string
	Mays                            []string
	Forget                          string
	Forgets                         []string
	Untested                        string
}

// What the steps rest on, as none of it was tried on a phone:
//
//   - iPhone: a downloaded profile waits in Settings as "Profile Downloaded" and is
//     deleted after 8 minutes; only one can wait (simetry.freshdesk.com, article
//     154000182325, repeating Apple's). An installed root is not trusted before it is
//     switched on under Certificate Trust Settings, iOS 10.3 and later
//     (gist.github.com/vorlovsky; FiloSottile/mkcert, issues 202 and 233). That other
//     browsers than Safari do not hand a profile on, and where the details of a
//     certificate show its fingerprint: from memory.
//   - iPhone, home screen: since iOS 26 "Open as Web App" can be switched off when a
//     page is added; what Safari stores, the app on the home screen does not see
//     (from memory of reports; in tabs, storage goes after 7 days without use).
//   - Android 11 and later takes a root only through Settings
//     (developer.android.com/work/versions/android-11, as quoted in AdAway/AdAway,
//     issue 2245); the path there: PixelExperience/android-issues, issue 1138; the
//     warning with "Install anyway": AdguardTeam/AdguardKnowledgeBase, pull 1058.
//     Makers name these menus differently. The need for a screen lock, the standing
//     notice about monitoring and the list "Trusted credentials": from memory.
//   - Chrome on Android needs the internet once to install an app with an icon of its
//     own (google/WebFundamentals, issue 8985).
//   - Firefox for Android does not use the phone's own roots unless told
//     (mozilla-mobile/fenix, issue 3728).
var trustWords = map[string]words{
	"en": {
		Title: "Let this phone trust the shop’s server", OtherName: "Español",
		Lead:    "The shop’s server signs its own address. This phone does not know that signature yet. Show it once, in a few minutes, and the phone can record without any network.",
		Already: "Done already? The shop is at", GetProfile: "Get the profile", GetRoot: "Get the certificate",
		IPhone: []step{
			{Do: "Open this page in Safari.", Note: "Other browsers may not hand the profile to the phone."},
			{Do: "Get the profile and tap Allow.", Note: "Go on at once: after 8 minutes the phone throws it away."},
			{Do: "Install it.", Path: []string{"Settings", "Profile Downloaded", "Install"}, Note: "The phone says Not Signed or Not Verified: that is right, nobody outside vouches for your shop. Before you tap Install: More Details, the certificate, and compare its SHA-256 fingerprint with the server’s window."},
			{Do: "Switch full trust on.", Path: []string{"Settings", "General", "About", "Certificate Trust Settings"}, Note: "Without this switch the phone has the certificate and still refuses the shop."},
			{Do: "Open the shop in Safari and put it on the home screen.", Path: []string{"Share", "Add to Home Screen"}, Note: "Leave Open as Web App on. From then on open it by its icon only: Safari forgets what it stored after a week without use, the icon does not."},
		},
		Android: []step{
			{Do: "Have a screen lock.", Note: "A PIN or a pattern: Android takes no certificate without one."},
			{Do: "Get the certificate.", Note: "It lands in Downloads. If the phone says that it must be installed in Settings, that is the next step."},
			{Do: "Install it as a CA certificate.", Path: []string{"Settings", "Security", "Encryption & credentials", "Install a certificate", "CA certificate"}, Note: "Menus differ by maker: search the settings for CA certificate. Tap Install anyway and choose hoppertally-root.crt."},
			{Do: "Compare it.", Path: []string{"Encryption & credentials", "Trusted credentials", "User"}, Note: "Tap the shop’s root: its SHA-256 fingerprint must be that of the server’s window. If not, remove it there."},
			{Do: "Open the shop in Chrome and install it.", Path: []string{"⋮", "Add to home screen"}, Note: "The phone needs the internet for this one step to make a real app of it. Android may go on telling that the network could be monitored: it says so of every certificate that somebody added."},
		},
		Compare:    "Compare, before you trust",
		CompareHow: "This page came without protection, so somebody on the network could have changed it. Do not compare with this page: compare what the phone itself shows of the certificate with the server’s window, all of it.",
		NameIs:     "Listed on the phone as", EndsOn: "Good until",
		Then: "Then", ThenHow: "Open the shop, sign in, and run Check this phone: it tries everything that working without a network needs.",
		Open: "Open the shop", Code: "QR code with the address",
		May: "What this certificate may do",
		Mays: []string{
			"Vouch for private names (.local, .lan, .internal, .home.arpa, .test) and private addresses. Phones refuse it for anything public, such as a bank.",
			"Its key lies on the shop’s server and nowhere else. Whoever steals that could pose as other devices on a private network. Then make a new one and let every phone forget this one.",
		},
		Forget: "How a phone forgets it",
		Forgets: []string{
			"iPhone: Settings › General › VPN & Device Management › the profile › Remove Profile.",
			"Android: Settings › Security › Encryption & credentials › Trusted credentials › User › the root › Remove.",
			"Send everything first: a phone that no longer trusts the server keeps its entries and cannot send them.",
		},
		Untested: "These steps come from documents and were not tried on every phone; names of menus change with versions and makers.",
	},
	"es": {
		Title: "Que este teléfono confíe en el servidor del taller", OtherName: "English",
		Lead:    "El servidor del taller firma su propia dirección. Este teléfono aún no conoce esa firma. Muéstresela una vez, en pocos minutos, y el teléfono podrá anotar sin red alguna.",
		Already: "¿Ya está hecho? El taller está en", GetProfile: "Descargar el perfil", GetRoot: "Descargar el certificado",
		IPhone: []step{
			{Do: "Abra esta página en Safari.", Note: "Otros navegadores pueden no entregar el perfil al teléfono."},
			{Do: "Descargue el perfil y toque Permitir.", Note: "Siga enseguida: a los 8 minutos el teléfono lo desecha."},
			{Do: "Instálelo.", Path: []string{"Ajustes", "Perfil descargado", "Instalar"}, Note: "El teléfono dice No firmado o No verificado: es correcto, nadie de fuera responde por su taller. Antes de tocar Instalar: Más detalles, el certificado, y compare su huella SHA-256 con la ventana del servidor."},
			{Do: "Active la confianza total.", Path: []string{"Ajustes", "General", "Información", "Ajustes de confianza de los certificados"}, Note: "Sin este interruptor el teléfono tiene el certificado y aun así rechaza el taller."},
			{Do: "Abra el taller en Safari y póngalo en la pantalla de inicio.", Path: []string{"Compartir", "Añadir a pantalla de inicio"}, Note: "Deje activado Abrir como app web. Desde entonces ábralo solo por su icono: Safari olvida lo guardado tras una semana sin uso; el icono, no."},
		},
		Android: []step{
			{Do: "Tenga un bloqueo de pantalla.", Note: "Un PIN o un patrón: Android no acepta certificados sin él."},
			{Do: "Descargue el certificado.", Note: "Queda en Descargas. Si el teléfono dice que debe instalarse en Ajustes, es el paso siguiente."},
			{Do: "Instálelo como certificado de CA.", Path: []string{"Ajustes", "Seguridad", "Cifrado y credenciales", "Instalar un certificado", "Certificado de CA"}, Note: "Los menús cambian según el fabricante: busque certificado de CA en los ajustes. Toque Instalar de todos modos y elija hoppertally-root.crt."},
			{Do: "Compárelo.", Path: []string{"Cifrado y credenciales", "Credenciales de confianza", "Usuario"}, Note: "Toque la raíz del taller: su huella SHA-256 debe ser la de la ventana del servidor. Si no lo es, elimínela ahí mismo."},
			{Do: "Abra el taller en Chrome e instálelo.", Path: []string{"⋮", "Añadir a pantalla de inicio"}, Note: "Solo para este paso el teléfono necesita internet: así queda como una app de verdad. Android puede seguir avisando de que la red podría estar vigilada: lo dice de todo certificado que alguien añade."},
		},
		Compare:    "Compare antes de confiar",
		CompareHow: "Esta página llegó sin protección: alguien en la red podría haberla cambiado. No compare con esta página: compare lo que el propio teléfono muestra del certificado con la ventana del servidor, entero.",
		NameIs:     "En el teléfono se llama", EndsOn: "Válido hasta",
		Then: "Después", ThenHow: "Abra el taller, entre y haga Comprobar este teléfono: prueba todo lo que hace falta para trabajar sin red.",
		Open: "Abrir el taller", Code: "Código QR con la dirección",
		May: "Qué puede hacer este certificado",
		Mays: []string{
			"Responder por nombres privados (.local, .lan, .internal, .home.arpa, .test) y direcciones privadas. Los teléfonos lo rechazan para todo lo público, como un banco.",
			"Su clave está en el servidor del taller y en ningún otro sitio. Quien la robe podría hacerse pasar por otros equipos de una red privada. Haga entonces una nueva y que cada teléfono olvide esta.",
		},
		Forget: "Cómo lo olvida un teléfono",
		Forgets: []string{
			"iPhone: Ajustes › General › VPN y gestión de dispositivos › el perfil › Eliminar perfil.",
			"Android: Ajustes › Seguridad › Cifrado y credenciales › Credenciales de confianza › Usuario › la raíz › Eliminar.",
			"Antes envíe todo: un teléfono que ya no confía en el servidor conserva sus anotaciones y no puede enviarlas.",
		},
		Untested: "Estos pasos vienen de documentos y no se probaron en todos los teléfonos; los nombres de los menús cambian con las versiones y los fabricantes.",
	},
}
