package org.carrybeat.app

import android.content.Intent
import android.os.Bundle
import android.view.KeyEvent
import android.webkit.WebView
import androidx.activity.enableEdgeToEdge
import org.carrybeat.phone.Phone

/**
 * The one activity: shows the page, and hands over what only an activity is told. It does so itself, since the plugin
 * is not there yet when the activity comes to the front for the first time.
 */
class MainActivity : TauriActivity() {
    private val phone by lazy { Phone.of(this) }

    override fun onCreate(savedInstanceState: Bundle?) {
        enableEdgeToEdge()
        // Before the window is shown: it has to be over the lock then.
        phone.arrives(this, intent, savedInstanceState != null)
        super.onCreate(savedInstanceState)
    }

    override fun onNewIntent(intent: Intent) {
        super.onNewIntent(intent)
        setIntent(intent)
        phone.arrives(this, intent, false)
    }

    override fun onResume() {
        super.onResume()
        phone.front(this)
    }

    override fun onPause() {
        phone.behind(this)
        super.onPause()
    }

    override fun onStop() {
        phone.hidden(this)
        super.onStop()
    }

    /** What the key that goes back comes to. */
    override fun finish() {
        if (!phone.stays(this)) super.finish()
    }

    override fun onDestroy() {
        phone.gone(this)
        super.onDestroy()
    }

    override fun dispatchKeyEvent(event: KeyEvent): Boolean {
        phone.key(event)
        return super.dispatchKeyEvent(event)
    }

    /** Does not compile without the guard in the page's client: see `src-tauri/.cargo/config.toml`. */
    override fun onWebViewCreate(webView: WebView) = phone.page.made(this, webView, RustWebViewClient.Companion)
}
