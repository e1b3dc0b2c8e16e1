import ca.uhn.fhir.batch2.jobs.config.Batch2JobsConfig;
import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.interceptor.api.IInterceptorBroadcaster;
import ca.uhn.fhir.jpa.api.config.JpaStorageSettings;
import ca.uhn.fhir.jpa.api.config.ThreadPoolFactoryConfig;
import ca.uhn.fhir.jpa.batch2.JpaBatch2Config;
import ca.uhn.fhir.jpa.config.HapiJpaConfig;
import ca.uhn.fhir.jpa.config.r4.JpaR4Config;
import ca.uhn.fhir.jpa.config.util.HapiEntityManagerFactoryUtil;
import ca.uhn.fhir.jpa.model.config.PartitionSettings;
import ca.uhn.fhir.jpa.model.config.SubscriptionSettings;
import ca.uhn.fhir.jpa.model.dialect.HapiFhirH2Dialect;
import ca.uhn.fhir.jpa.provider.JpaSystemProvider;
import ca.uhn.fhir.jpa.search.DatabaseBackedPagingProvider;
import ca.uhn.fhir.jpa.subscription.channel.config.SubscriptionChannelConfig;
import ca.uhn.fhir.jpa.subscription.match.config.SubscriptionProcessorConfig;
import ca.uhn.fhir.jpa.subscription.match.deliver.email.IEmailSender;
import ca.uhn.fhir.jpa.subscription.submit.config.SubscriptionSubmitterConfig;
import ca.uhn.fhir.rest.server.RestfulServer;
import ca.uhn.fhir.rest.server.provider.ResourceProviderFactory;
import jakarta.persistence.EntityManagerFactory;
import java.util.Properties;
import javax.sql.DataSource;
import org.apache.commons.dbcp2.BasicDataSource;
import org.eclipse.jetty.ee10.servlet.ServletContextHandler;
import org.eclipse.jetty.ee10.servlet.ServletHolder;
import org.eclipse.jetty.server.Server;
import org.eclipse.jetty.server.ServerConnector;
import org.springframework.beans.factory.config.ConfigurableListableBeanFactory;
import org.springframework.context.ApplicationContext;
import org.springframework.context.annotation.AnnotationConfigApplicationContext;
import org.springframework.context.annotation.Bean;
import org.springframework.context.annotation.Configuration;
import org.springframework.context.annotation.Import;
import org.springframework.orm.jpa.JpaTransactionManager;
import org.springframework.orm.jpa.LocalContainerEntityManagerFactoryBean;
import org.springframework.transaction.annotation.EnableTransactionManagement;

/**
 * Serves an empty FHIR R4 record on a free port of the loopback interface, until its standard input
 * ends. What it holds is in memory. It notifies by Subscriptions of the kind rest-hook. Prints its
 * address once it can be asked.
 */
public final class Record {
  private Record() {}

  public static void main(String[] args) throws Exception {
    ApplicationContext beans = new AnnotationConfigApplicationContext(Beans.class);
    Server server = new Server();
    ServerConnector connector = new ServerConnector(server);
    connector.setHost("127.0.0.1");
    server.addConnector(connector);
    ServletContextHandler handler = new ServletContextHandler("/");
    handler.addServlet(new ServletHolder(restfulServer(beans)), "/fhir/*");
    server.setHandler(handler);
    server.start();
    System.out.println("http://127.0.0.1:" + connector.getLocalPort() + "/fhir");
    while (System.in.read() >= 0) {
      // Whoever started this holds the other end.
    }
    System.exit(0); // HAPI leaves threads behind
  }

  private static RestfulServer restfulServer(ApplicationContext beans) {
    RestfulServer server = new RestfulServer(beans.getBean(FhirContext.class));
    server.registerProviders(beans.getBean(ResourceProviderFactory.class).createProviders());
    server.registerProvider(beans.getBean(JpaSystemProvider.class));
    server.setPagingProvider(beans.getBean(DatabaseBackedPagingProvider.class));
    server.setInterceptorService(
        (ca.uhn.fhir.interceptor.api.IInterceptorService) beans.getBean(IInterceptorBroadcaster.class));
    return server;
  }

  @Configuration
  @EnableTransactionManagement
  @Import({
    JpaR4Config.class, HapiJpaConfig.class, JpaBatch2Config.class, Batch2JobsConfig.class,
    SubscriptionChannelConfig.class, SubscriptionProcessorConfig.class, SubscriptionSubmitterConfig.class,
    ThreadPoolFactoryConfig.class
  })
  static class Beans {
    @Bean
    JpaStorageSettings storageSettings() {
      JpaStorageSettings settings = new JpaStorageSettings();
      settings.setReuseCachedSearchResultsForMillis(null); // a search sees what was stored just before
      settings.setSchedulingDisabled(true);
      return settings;
    }

    @Bean
    PartitionSettings partitionSettings() {
      return new PartitionSettings();
    }

    @Bean
    SubscriptionSettings subscriptionSettings() {
      SubscriptionSettings settings = new SubscriptionSettings();
      settings.addSupportedSubscriptionType(
          org.hl7.fhir.dstu2.model.Subscription.SubscriptionChannelType.RESTHOOK);
      return settings;
    }

    @Bean
    IEmailSender emailSender() {
      return details -> {
        throw new UnsupportedOperationException("no mail is sent");
      };
    }

    @Bean(destroyMethod = "close")
    BasicDataSource dataSource() {
      BasicDataSource source = new BasicDataSource();
      source.setUrl("jdbc:h2:mem:record;DB_CLOSE_DELAY=-1");
      source.setMaxTotal(10);
      return source;
    }

    @Bean
    LocalContainerEntityManagerFactoryBean entityManagerFactory(
        ConfigurableListableBeanFactory beans, FhirContext context, JpaStorageSettings settings, DataSource source) {
      LocalContainerEntityManagerFactoryBean factory =
          HapiEntityManagerFactoryUtil.newEntityManagerFactory(beans, context, settings);
      factory.setPersistenceUnitName("record");
      factory.setDataSource(source);
      Properties properties = new Properties();
      properties.put("hibernate.dialect", HapiFhirH2Dialect.class.getName());
      properties.put("hibernate.hbm2ddl.auto", "create");
      properties.put("hibernate.search.enabled", "false");
      factory.setJpaProperties(properties);
      return factory;
    }

    @Bean
    JpaTransactionManager transactionManager(EntityManagerFactory factory) {
      return new JpaTransactionManager(factory);
    }
  }
}
